"""A movement on the bar written down as one large, sparse optimisation problem.

Hermite-Simpson collocation in separated form: state, acceleration and activation at
both ends and in the middle of each interval; the equations of motion as implicit
residuals there. Phases follow one another and share their boundary. One problem of
a given mesh serves pull-up, dip and muscle-up: a movement is a set of bounds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import Any

import casadi as ca
import numpy as np
from scipy.interpolate import PchipInterpolator

from overbar.mechanics.dynamics import CONTROLS, PARAMETERS, SEGMENTS, SHOWN, equations

ROW = {name: i for i, name in enumerate(SHOWN)}
CONTROL = {name: i for i, name in enumerate(CONTROLS)}

WEIGHTS = ("strength", "load", "duration", "activation", "acceleration", "change")
"""Weights of the cost: least strength, most load, time, and three small smoothing terms."""

LEAST_VIOLATION = 1e-4
"""A solution counts as converged when no constraint is broken by more than this (scaled)."""

_CLEARANCES = tuple(name for name in SHOWN if name.startswith("clear"))
_OPTIONS: dict[str, Any] = {
    "print_time": False,
    "record_time": True,
    "expand": True,
    "ipopt.print_level": 0,
    "ipopt.sb": "yes",
    "ipopt.max_iter": 500,
    "ipopt.tol": 1e-5,
    "ipopt.constr_viol_tol": 1e-6,
    "ipopt.acceptable_tol": 1e-3,
    "ipopt.acceptable_constr_viol_tol": 1e-6,
    "ipopt.acceptable_iter": 8,
    "ipopt.acceptable_obj_change_tol": 1e-4,
    "ipopt.mu_strategy": "adaptive",
    # Approximate minimum degree orders these narrow systems twice as well as MUMPS' own choice (measured).
    "ipopt.mumps_pivot_order": 0,
}
_FOLLOWING: dict[str, Any] = {
    "ipopt.max_iter": 200,
    "ipopt.mu_strategy": "monotone",
    "ipopt.mu_init": 1e-4,
    "ipopt.bound_push": 1e-3,
    "ipopt.bound_frac": 1e-3,
}
"""From a neighbour's solution: a small barrier keeps its way and takes half the iterations (measured)."""


@dataclass
class Limits:
    """Lower and upper bounds of everything, to be narrowed by a movement; each a pair of arrays.

    Attributes
    ----------
    q, v, a, u : pair of ndarray
        Shape (5 or 8, nodes).
    shown : pair of ndarray
        Shape (len(SHOWN), nodes), see :data:`overbar.mechanics.dynamics.SHOWN`.
    duration : pair of ndarray
        Seconds of each phase.
    first_two : list of float
        Seconds of the first two phases together.
    strength, load : list of float
        Arm strength and added load over body mass.
    """

    q: tuple[np.ndarray, np.ndarray]
    v: tuple[np.ndarray, np.ndarray]
    a: tuple[np.ndarray, np.ndarray]
    u: tuple[np.ndarray, np.ndarray]
    shown: tuple[np.ndarray, np.ndarray]
    duration: tuple[np.ndarray, np.ndarray]
    first_two: list[float] = field(default_factory=lambda: [0.0, 9.0])
    strength: list[float] = field(default_factory=lambda: [0.1, 6.0])
    load: list[float] = field(default_factory=lambda: [0.0, 0.0])

    def hold(self, name: str, low: float, high: float, nodes: Any = slice(None)) -> None:
        """Bound one shown quantity at some nodes."""
        self.shown[0][ROW[name], nodes] = low
        self.shown[1][ROW[name], nodes] = high

    def angle(self, name: str, low_deg: float, high_deg: float, nodes: Any = slice(None)) -> None:
        """Bound one joint angle in degrees at some nodes."""
        self.hold(name, np.radians(low_deg), np.radians(high_deg), nodes)


@dataclass(frozen=True)
class Movement:
    """A movement on some mesh, enough to start the next solve from.

    Attributes
    ----------
    q, v, a, u : ndarray
        Segment angles, speeds, accelerations (5, nodes), activations (8, nodes).
    durations : ndarray
        Seconds of each phase.
    strength, load : float
    """

    q: np.ndarray
    v: np.ndarray
    a: np.ndarray
    u: np.ndarray
    durations: np.ndarray
    strength: float
    load: float


@dataclass(frozen=True)
class Solution(Movement):
    """What the solver returned.

    Attributes
    ----------
    converged : bool
        Whether the solver stopped at a solution that breaks no constraint.
    status : str
        The solver's own word.
    iterations : int
    seconds : float
        Wall time of the solve.
    violation : float
        Largest scaled constraint violation.
    cost : float
    t : ndarray
        Time of each node, s.
    shown : ndarray
        (len(SHOWN), nodes).
    slope : ndarray
        Derivative of the least cost by each entry of :data:`PARAMETERS`, then by the swing
        angle in rad.
    strength_slope : float
        Derivative of the least cost by the arm strength where that is fixed.
    """

    converged: bool
    status: str
    iterations: int
    seconds: float
    violation: float
    cost: float
    t: np.ndarray
    shown: np.ndarray
    slope: np.ndarray
    strength_slope: float

    def row(self, name: str) -> np.ndarray:
        """Return one shown quantity over the nodes."""
        values: np.ndarray = self.shown[ROW[name]]
        return values


class Problem:
    """The optimisation problem of one mesh, built once and solved for any movement and body.

    Parameters
    ----------
    intervals : tuple of int
        Collocation intervals of each phase.

    Attributes
    ----------
    written : dict
        Unknowns x, cost f, constraints g and parameters p as CasADi expressions.
    variables, constraints : int
        How many of each.
    """

    def __init__(self, intervals: tuple[int, ...]) -> None:
        self.intervals = intervals
        self.nodes = 2 * sum(intervals) + 1
        self.edges = np.concatenate([[0], 2 * np.cumsum(intervals)])
        self._build()

    def _build(self) -> None:
        K, n, c = self.nodes, SEGMENTS, len(CONTROLS)
        Q, V, A = (ca.MX.sym(name, n, K) for name in ("q", "v", "a"))
        U = ca.MX.sym("u", c, K)
        T = ca.MX.sym("duration", len(self.intervals))
        strength, load = ca.MX.sym("strength"), ca.MX.sym("load")
        p, swing = ca.MX.sym("p", len(PARAMETERS)), ca.MX.sym("swing")
        weight, rate = ca.MX.sym("weight", len(WEIGHTS)), ca.MX.sym("rate")
        residual, shown = equations().instant.map(K)(
            Q,
            V,
            A,
            U,
            ca.repmat(p, 1, K),
            ca.repmat(strength, 1, K),
            ca.repmat(load, 1, K),
            ca.repmat(swing, 1, K),
        )
        step = ca.vertcat(*[ca.repmat(T[i] / k, k, 1) for i, k in enumerate(self.intervals)]).T
        steps = ca.repmat(step, n, 1)
        first, middle, last = slice(0, K - 1, 2), slice(1, K, 2), slice(2, K, 2)

        def collocate(x: Any, dx: Any) -> Any:
            ends = x[:, last] - x[:, first] - steps / 6 * (dx[:, first] + 4 * dx[:, middle] + dx[:, last])
            mid = x[:, middle] - (x[:, first] + x[:, last]) / 2 - steps / 8 * (dx[:, first] - dx[:, last])
            return ca.vertcat(ends, mid)

        defects = ca.vertcat(ca.vec(collocate(Q, V)), 0.2 * ca.vec(collocate(V, A)), ca.vec(residual))
        half = ca.repmat(ca.vec(ca.vertcat(step, step) / 2).T, c, 1)
        change = U[:, 1:] - U[:, :-1]
        # One row would need a two-sided bound that depends on the phase time; two rows keep it linear.
        rising, falling = ca.vec(change - rate * half), ca.vec(change + rate * half)
        simpson = [ca.MX(0)] * K
        for j in range(sum(self.intervals)):
            for k, share in ((2 * j, 1), (2 * j + 1, 4), (2 * j + 2, 1)):
                simpson[k] = simpson[k] + share * step[j] / 6
        quadrature = ca.horzcat(*simpson)
        cost = (
            weight[0] * strength
            - weight[1] * load
            + weight[2] * ca.sum1(T)
            + weight[3] * ca.dot(quadrature, ca.sum1(U**2))
            + weight[4] * ca.dot(quadrature, ca.sum1(A**2))
            + weight[5] * ca.sumsqr(change)
        )
        x = ca.vertcat(ca.vec(Q), ca.vec(V), ca.vec(A), ca.vec(U), T, strength, load)
        g = ca.vertcat(defects, rising, falling, ca.sum1(T[: min(2, len(self.intervals))]), ca.vec(shown))
        self._defects, self._rates = defects.numel(), rising.numel()
        self.variables, self.constraints = x.numel(), g.numel()
        self.written = {"x": x, "f": cost, "g": g, "p": ca.vertcat(p, swing, weight, rate)}
        self._solver = ca.nlpsol("movement", "ipopt", self.written, _OPTIONS)

    @cached_property
    def _follower(self) -> Any:
        """The same problem for starts from a neighbour's solution; derivatives are not built twice."""
        built = {
            "hess_lag": self._solver.get_function("nlp_hess_l"),
            "jac_g": self._solver.get_function("nlp_jac_g"),
            "grad_f": self._solver.get_function("nlp_grad_f"),
        }
        return ca.nlpsol("following", "ipopt", self.written, {**_OPTIONS, **_FOLLOWING, **built})

    def limits(self) -> Limits:
        """Return the bounds every movement shares: joint ranges, no passing through the bar."""
        K = self.nodes

        def pair(rows: int, low: float, high: float) -> tuple[np.ndarray, np.ndarray]:
            return np.full((rows, K), low), np.full((rows, K), high)

        u = pair(len(CONTROLS), 0.0, 1.0)
        u[0][CONTROL["knee"] :] = -1.0
        phases = len(self.intervals)
        limits = Limits(
            q=pair(SEGMENTS, -7.0, 4.0),
            v=pair(SEGMENTS, -18.0, 18.0),
            a=pair(SEGMENTS, -400.0, 400.0),
            u=u,
            shown=pair(len(SHOWN), -np.inf, np.inf),
            duration=(np.full(phases, 0.05), np.full(phases, 3.0)),
        )
        limits.angle("elbow", 0, 150)
        limits.angle("shoulder", -60, 190)
        limits.angle("hip", -25, 115)
        limits.angle("knee", 0, 100)
        for name in _CLEARANCES:
            limits.hold(name, 0.0, np.inf)
        return limits

    def start_from(
        self, shares: Any, angles: Any, durations: Any, strength: float, load: float = 0.0
    ) -> np.ndarray:
        """Return a first guess that passes smoothly through given postures.

        Parameters
        ----------
        shares : sequence of float
            Shares of the whole time, from 0 to 1.
        angles : sequence of 5 floats each
            Segment angles in rad at those times.
        durations : sequence of float
            Seconds of each phase.
        """
        t = self.times(np.asarray(durations, float))
        path = PchipInterpolator(np.asarray(shares) * t[-1], np.asarray(angles, float), axis=0)
        u = np.full((len(CONTROLS), self.nodes), 0.2)
        u[CONTROL["knee"] :] = 0
        return self.pack(
            path(t).T, path(t, 1).T, path(t, 2).T, u, np.asarray(durations, float), strength, load
        )

    def start_like(self, other: Movement, intervals: tuple[int, ...]) -> np.ndarray:
        """Return a first guess read off a solution on another mesh with the same phases."""
        share = np.concatenate(
            [np.arange(2 * k) / (2 * k) + i for i, k in enumerate(self.intervals)] + [[len(self.intervals)]]
        )
        old = np.concatenate(
            [np.arange(2 * k) / (2 * k) + i for i, k in enumerate(intervals)] + [[len(intervals)]]
        )

        def onto(values: np.ndarray) -> np.ndarray:
            return np.array([np.interp(share, old, row) for row in values])

        return self.pack(
            onto(other.q),
            onto(other.v),
            onto(other.a),
            onto(other.u),
            other.durations,
            other.strength,
            other.load,
        )

    def again(self, other: Movement) -> np.ndarray:
        """Return a solution of this same mesh as the first guess of the next solve."""
        return self.pack(other.q, other.v, other.a, other.u, other.durations, other.strength, other.load)

    def pack(
        self,
        q: np.ndarray,
        v: np.ndarray,
        a: np.ndarray,
        u: np.ndarray,
        T: np.ndarray,
        strength: float,
        load: float,
    ) -> np.ndarray:
        """Return the vector of unknowns."""
        return np.concatenate([*(x.T.ravel() for x in (q, v, a, u)), np.atleast_1d(T), [strength, load]])

    def times(self, durations: np.ndarray) -> np.ndarray:
        """Return the time of each node in s."""
        steps = np.concatenate(
            [np.full(2 * k, T / k / 2) for k, T in zip(self.intervals, durations, strict=True)]
        )
        return np.concatenate([[0.0], np.cumsum(steps)])

    def numbers(
        self, limits: Limits, p: np.ndarray, weights: dict[str, float], swing_rad: float, rate_per_s: float
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Return bounds of the unknowns, bounds of the constraints, and the parameters, as vectors."""
        low_x, high_x = (
            np.concatenate(
                [
                    *(pair[k].T.ravel() for pair in (limits.q, limits.v, limits.a, limits.u)),
                    limits.duration[k],
                    [limits.strength[k], limits.load[k]],
                ]
            )
            for k in (0, 1)
        )
        none, zero = np.zeros(self._defects), np.zeros(self._rates)
        free = np.full(self._rates, np.inf)
        low_g = np.concatenate([none, -free, zero, limits.first_two[:1], limits.shown[0].T.ravel()])
        high_g = np.concatenate([none, zero, free, limits.first_two[1:], limits.shown[1].T.ravel()])
        vector = np.concatenate([p, [swing_rad], [weights.get(name, 0.0) for name in WEIGHTS], [rate_per_s]])
        return low_x, high_x, low_g, high_g, vector

    def solve(
        self,
        limits: Limits,
        p: np.ndarray,
        weights: dict[str, float],
        start: np.ndarray,
        *,
        swing_rad: float = 0.0,
        rate_per_s: float = 10.0,
        follow: bool = False,
    ) -> Solution:
        """Solve for one movement on one body.

        Parameters
        ----------
        p : ndarray
            See :func:`overbar.mechanics.dynamics.parameters`.
        weights : dict of str to float
            By the names of :data:`WEIGHTS`; missing ones are 0.
        start : ndarray
            First guess.
        swing_rad : float
            Angle of the line bar to centre of mass that ``swing`` is measured from.
        rate_per_s : float
            Fastest change of an activation.
        follow : bool
            The first guess solves a neighbour: keep its way over.

        Returns
        -------
        Solution
            Also when not converged; the caller must look.
        """
        low_x, high_x, low_g, high_g, vector = self.numbers(limits, p, weights, swing_rad, rate_per_s)
        guess = np.clip(start, low_x, high_x)
        solver = self._follower if follow else self._solver
        result = solver(x0=guess, lbx=low_x, ubx=high_x, lbg=low_g, ubg=high_g, p=vector)
        stats = solver.stats()
        x, g = (np.asarray(result[name]).ravel() for name in ("x", "g"))
        violation = float(max(0.0, np.max(low_g - g), np.max(g - high_g)))
        K, cut = self.nodes, 0
        parts = []
        for rows in (SEGMENTS, SEGMENTS, SEGMENTS, len(CONTROLS)):
            parts.append(x[cut : cut + rows * K].reshape(K, rows).T)
            cut += rows * K
        durations = x[cut : cut + len(self.intervals)]
        return Solution(
            converged=bool(stats["success"]) and violation < LEAST_VIOLATION,
            status=str(stats["return_status"]),
            iterations=int(stats["iter_count"]),
            seconds=float(stats["t_wall_total"]),
            violation=violation,
            cost=float(result["f"]),
            t=self.times(durations),
            q=parts[0],
            v=parts[1],
            a=parts[2],
            u=parts[3],
            durations=durations,
            strength=float(x[-2]),
            load=float(x[-1]),
            shown=g[-len(SHOWN) * K :].reshape(K, len(SHOWN)).T,
            # CasADi's multipliers are minus the derivative of the least cost.
            slope=-np.asarray(result["lam_p"]).ravel()[: len(PARAMETERS) + 1],
            strength_slope=-float(result["lam_x"][-2]),
        )


@cache
def problem(*intervals: int) -> Problem:
    """Return the problem of a mesh, built at most once in a process."""
    return Problem(intervals)
