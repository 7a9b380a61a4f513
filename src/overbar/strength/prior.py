"""What is known of an athlete's strength before the first set: published norms by sex and training."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Prior:
    """Belief before any log, as mean and one-sigma spread.

    Attributes
    ----------
    R : (float, float)
        1RM system mass / body mass.
    reps_at_80 : (float, float)
        Pull-ups to failure at 80 % of 1RM: places the athlete's own reps-at-load curve.
    reserve_bias : (float, float)
        Repetitions by which this athlete under-reports the reps left.
    gain : (float, float)
        Gain rate a calendar week, misses included, as a multiple of the usual one a trained
        week (:data:`GAIN_BY_R`; own judgement: slow 0.6-1.0, usual 1.0-1.5, fast 1.5-2.2 a
        trained week, one session in ten missed).
    basis, why : str
        Where it comes from.
    athletes : int
        How many of the coach's own athletes it rests on beside the published norm.
    """

    R: tuple[float, float]
    reps_at_80: tuple[float, float]
    reserve_bias: tuple[float, float] = (0.95, 0.5)
    gain: tuple[float, float] = (0.9, 0.45)
    basis: str = ""
    why: str = ""
    athletes: int = 0

    def says(self) -> str:
        """Return in words where it comes from.

        Examples
        --------
        >>> prior_for("f").says()
        'from the published norm: R 1.02 ± 0.20, 10.5 ± 2.2 reps at 80 %'
        """
        (R, R_sd), (reps, reps_sd) = self.R, self.reps_at_80
        whom = f"{self.athletes} of your athletes and " if self.athletes else ""
        return (
            f"from {whom}the published norm: R {R:.2f} ± {R_sd:.2f}, {reps:.1f} ± {reps_sd:.1f} reps at 80 %"
        )


RESERVE = "reserve bias 0.95, 95 % CI 0.17-1.73: Halperin et al. 2022, Sports Med 52:377-390"
MEN_REPS, WOMEN_REPS = (8.1, 1.9), (10.5, 2.2)
"""Pull-ups at 80 % of 1RM, mean and SD. Source: Johnson et al. 2009, 35 men and 23 women."""

PRIORS: dict[tuple[str, str], Prior] = {
    ("m", "ordinary"): Prior(
        (1.17, 0.15),
        MEN_REPS,
        basis=f"published: Johnson et al. 2009 (college men 1.16 SD 0.15); {RESERVE}",
        why="five strict pull-ups is the college mean",
    ),
    ("m", "trained"): Prior(
        (1.45, 0.22),
        MEN_REPS,
        gain=(0.85, 0.40),
        basis=f"published: Coyne et al. 2015 (1.43 SD 0.15), Munoz-Lopez et al. 2017 (1.50, 0.34); {RESERVE}",
        why="between the two samples of resistance-trained men",
    ),
    ("f", "ordinary"): Prior(
        (1.02, 0.20),
        WOMEN_REPS,
        basis=f"published: Johnson et al. 2009 (college women 0.73 SD 0.09); own judgement; {RESERVE}",
        why="women who ask for a muscle-up stand well above the college mean; wide so that logs decide",
    ),
    ("f", "trained"): Prior(
        (1.20, 0.22),
        WOMEN_REPS,
        gain=(0.85, 0.40),
        basis=f"own judgement; published: Johnson et al. 2009 (reps at 80 %); {RESERVE}",
        why="no sample of trained women was found; the men's step from ordinary to trained",
    ),
    ("unstated", "ordinary"): Prior(
        (1.10, 0.19),
        (9.2, 2.3),
        basis=f"published: Johnson et al. 2009, both sexes; {RESERVE}",
        why="mean of both sexes with half their difference added to the spread",
    ),
    ("unstated", "trained"): Prior(
        (1.33, 0.26),
        (9.2, 2.3),
        gain=(0.85, 0.40),
        basis=f"published: Coyne et al. 2015, Johnson et al. 2009; own judgement; {RESERVE}",
        why="mean of both sexes with half their difference added to the spread",
    ),
}
"""Priors by (sex, training)."""


def prior_for(sex: str = "unstated", training: str = "ordinary") -> Prior:
    """Return the prior of a sex ("f", "m", else unstated) and training ("ordinary" or "trained")."""
    return PRIORS[sex if sex in ("f", "m") else "unstated", training]


GAIN_BY_R = ((1.10, 0.0090), (1.22, 0.0080), (1.285, 0.0060), (1.36, 0.0045), (1.45, 0.0030), (1.70, 0.0015))
"""Usual gain of log strength a trained week, by R: own judgement (0.9 % below R 1.25, 0.6 % to 1.32,
0.45 % to 1.40, then 0.3 %); the last two bracket 0.3 % a week in trained men (Sanchez-Moreno et al.
2017, from memory). No data on untrained pull-ups were found."""
