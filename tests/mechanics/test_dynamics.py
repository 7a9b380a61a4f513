"""Equations of motion against MuJoCo, a general physics engine that shares no code with them."""

from __future__ import annotations

import math

import mujoco
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from overbar.mechanics.dynamics import AT_CHEST, PARAMETERS, accelerations, equations, parameters
from overbar.mechanics.muscle_up import VARIANTS, MuscleUp, shaped
from overbar.mechanics.segments import Body, body_of, straight_hang
from overbar.units import STANDARD_GRAVITY

MUSCLES = VARIANTS[0].muscles
REST = np.zeros(8)
RELATIVE = np.tril(np.ones((5, 5)))
"""Absolute segment angles from joint angles."""


def chain(p: np.ndarray, load: float) -> mujoco.MjModel:
    """Return the same body, hinge by hinge, in MuJoCo's own words."""
    at = dict(zip(PARAMETERS, p, strict=True))
    mass = [at[f"mass{i}"] for i in range(1, 6)]
    centre = [at[f"centre{i}"] for i in range(1, 6)]
    inertia = [at[f"inertia{i}"] for i in range(1, 6)]

    def segment(i: int) -> str:
        if i == 5:
            return ""
        place = "0 0 0" if i == 0 else f"0 0 {-at[f'length{i}']:.15g}"
        round_inertia = " ".join([f"{inertia[i]:.15g}"] * 3)
        extra = ""
        if i == 2 and load:
            # The belt's plates: a small heavy ball fixed to the trunk.
            extra = (
                f'<body pos="0 0 {-at["load_place"] * at["length3"]:.15g}">'
                f'<inertial pos="0 0 0" mass="{load:.15g}" diaginertia="1e-12 1e-12 1e-12"/></body>'
            )
        return (
            f'<body pos="{place}"><joint name="joint{i}" type="hinge" axis="0 -1 0"/>'
            f'<inertial pos="0 0 {-centre[i]:.15g}" mass="{mass[i]:.15g}" diaginertia="{round_inertia}"/>'
            f"{extra}{segment(i + 1)}</body>"
        )

    return mujoco.MjModel.from_xml_string(
        '<mujoco><compiler angle="radian" inertiafromgeom="false" boundmass="0" boundinertia="0"/>'
        f'<option gravity="0 0 {-STANDARD_GRAVITY}" integrator="RK4" timestep="0.0005">'
        f'<flag contact="disable"/></option><worldbody>{segment(0)}</worldbody></mujoco>'
    )


@pytest.mark.parametrize(
    ("body", "load", "place"),
    [
        (body_of(1.75, 75.0, "m"), 0.0, 1.0),
        (body_of(1.62, 58.0, "f"), 0.25, 1.0),
        (body_of(1.90, 95.0, "m", "winter"), 0.15, AT_CHEST),
    ],
    ids=["a man", "a woman with a belt", "the other table with a vest"],
)
def test_accelerations_and_energy_agree_with_mujoco(body: Body, load: float, place: float) -> None:
    p = parameters(body, MUSCLES, place)
    model = chain(p, load)
    data = mujoco.MjData(model)
    rng = np.random.default_rng(4)
    worst = energy_worst = 0.0
    for _ in range(400):  # three bodies: 1,200 states
        q, v = rng.uniform(-4, 2, 5), rng.uniform(-10, 10, 5)
        u = np.concatenate([rng.uniform(0, 1, 6), rng.uniform(-1, 1, 2)])
        own = accelerations(q, v, u, p, 1.2, load)
        _, _, tau, kinetic, potential = (np.asarray(x) for x in equations().parts(q, v, u, p, 1.2, load))
        data.qpos[:], data.qvel[:] = np.linalg.solve(RELATIVE, q), np.linalg.solve(RELATIVE, v)
        data.qfrc_applied[:] = RELATIVE.T @ tau.ravel()
        mujoco.mj_forward(model, data)
        other = RELATIVE @ data.qacc
        worst = max(worst, float(np.max(np.abs(own - other)) / np.max(np.abs(other))))
        mujoco.mj_energyPos(model, data)
        mujoco.mj_energyVel(model, data)
        whole = abs(float(kinetic.item())) + abs(float(potential.item()))
        energy_worst = max(energy_worst, abs(sum(data.energy) - float((kinetic + potential).item())) / whole)
    assert worst <= 1e-8
    assert energy_worst <= 1e-9


def test_a_passive_swing_keeps_its_energy(man: Body) -> None:
    p = parameters(man, MUSCLES)

    def energy(state: np.ndarray) -> float:
        parts = equations().parts(state[:5], state[5:], REST, p, 1.0, 0.0)
        return float(parts[3]) + float(parts[4])

    def flow(_: float, state: np.ndarray) -> np.ndarray:
        return np.concatenate([state[5:], accelerations(state[:5], state[5:], REST, p, 1.0, 0.0)])

    start = np.concatenate([np.full(5, math.radians(30)), np.zeros(5)])
    run = solve_ivp(flow, (0, 2.2), start, rtol=1e-10, atol=1e-11, method="DOP853")
    swing_energy = energy(start) - energy(np.zeros(10))
    assert abs(energy(run.y[:, -1]) - energy(start)) / swing_energy <= 1e-6


@pytest.mark.parametrize(("who", "period"), [((1.741, 73.0, "m"), 2.22), ((1.735, 61.9, "f"), 2.17)])
def test_the_dead_hang_swings_with_its_published_period(who: tuple[float, float, str], period: float) -> None:
    # science.md 10, case 10; here from the equations of motion with all joints held straight
    body = body_of(*who)
    M, *_ = equations().parts(np.zeros(5), np.zeros(5), REST, parameters(body, MUSCLES), 1.0, 0.0)
    inertia = float(np.sum(np.asarray(M)))
    fall = STANDARD_GRAVITY * straight_hang(body).centre_below_grip_m
    assert 2 * math.pi * math.sqrt(inertia / fall) == pytest.approx(period, rel=0.005)


def test_a_still_hang_loads_the_hands_with_one_body_weight(man: Body) -> None:
    # science.md 10, case 14: exact
    p = parameters(man, MUSCLES)
    _, shown = equations().instant(np.zeros(5), np.zeros(5), np.zeros(5), REST, p, 1.0, 0.4, 0.0)
    from overbar.mechanics.collocation import ROW

    assert float(shown[ROW["force_y"]]) == pytest.approx(1.0, abs=1e-12)
    assert float(shown[ROW["force_x"]]) == pytest.approx(0.0, abs=1e-12)


def test_the_fine_solution_replays_in_mujoco(man: Body, fine: MuscleUp) -> None:
    assert fine.converged
    found = fine.solution
    p = parameters(shaped(man, VARIANTS[0]), MUSCLES)
    model = chain(p, 0.0)
    torque = np.array(
        [
            np.asarray(
                equations().parts(found.q[:, k], found.v[:, k], found.u[:, k], p, found.strength, 0.0)[2]
            ).ravel()
            for k in range(len(found.t))
        ]
    ).T
    worst = 0.0
    for j in range(0, len(found.t) - 1, 2):
        t0, t1 = found.t[j], found.t[j + 2]
        steps = max(10, round((t1 - t0) / 2e-4))
        model.opt.timestep = (t1 - t0) / steps
        data = mujoco.MjData(model)
        data.qpos[:] = np.linalg.solve(RELATIVE, found.q[:, j])
        data.qvel[:] = np.linalg.solve(RELATIVE, found.v[:, j])
        for i in range(steps):
            s = (i + 0.5) / steps
            weight = np.array([2 * (s - 0.5) * (s - 1), -4 * s * (s - 1), 2 * s * (s - 0.5)])
            data.qfrc_applied[:] = RELATIVE.T @ (torque[:, j : j + 3] @ weight)
            mujoco.mj_step(model, data)
        worst = max(worst, float(np.max(np.abs(RELATIVE @ data.qpos - found.q[:, j + 2]))))
    assert worst < 1e-3


def test_work_of_the_joints_is_the_energy_gained(man: Body, fine: MuscleUp) -> None:
    found = fine.solution
    p = parameters(shaped(man, VARIANTS[0]), MUSCLES)
    power, energy = [], []
    for k in range(len(found.t)):
        _, _, tau, kinetic, potential = equations().parts(
            found.q[:, k], found.v[:, k], found.u[:, k], p, found.strength, 0.0
        )
        power.append(float(np.asarray(tau).ravel() @ found.v[:, k]))
        energy.append(float(kinetic) + float(potential))
    work = 0.0
    for j in range(0, len(found.t) - 1, 2):
        work += (found.t[j + 2] - found.t[j]) / 6 * (power[j] + 4 * power[j + 1] + power[j + 2])
    assert work == pytest.approx(energy[-1] - energy[0], rel=0.01)
