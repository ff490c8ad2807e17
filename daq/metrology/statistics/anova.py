"""Analysis of variance of a gauge study: parts x operators x trials. Pure.

Values as in `samples`; what comes out are floats: sd in their unit, sums of squares in its square.
Sums of squares are exact until the last step.
"""

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction

import msgspec

from daq.metrology.statistics.distributions import f_tail
from daq.metrology.statistics.samples import Real, whole
from daq.metrology.statistics.scatter import (
    INTERACTION,
    OPERATORS,
    PARTS,
    REPEATABILITY,
    StudyScatter,
    component,
)

ALPHA = 0.05
"""An interaction with a larger p is pooled into the repeatability. Common practice; 0.25 is also
met."""

Sizes = Sequence[Sequence[Sequence[Real]]]
"""[part][operator][trial]: 2 or more of each, none missing."""


class VarianceRow(msgspec.Struct, frozen=True):
    """One line of the table: sum of squares, degrees of freedom, mean square.

    `f` is the ratio to the mean square it is tested against and `p` the chance of a larger one;
    both None for what is not tested, and where neither mean square shows any scatter. `f` is
    math.inf against none.
    """

    ss: float
    dof: int
    ms: float
    f: float | None = None
    p: float | None = None


class TwoWay(msgspec.Struct, frozen=True):
    """Parts crossed with operators, both drawn at random, each pair measured `trials` times.

    The interaction is tested against `repeat`; part and operator against `error`, which is the
    interaction where it is significant, else interaction and repeat pooled (`is_pooled`). Never
    against `repeat` alone: that finds operators different who are not. `scatter` holds the variance
    components.
    """

    parts: int
    operators: int
    trials: int
    alpha: float
    is_pooled: bool
    part: VarianceRow
    operator: VarianceRow
    interaction: VarianceRow
    repeat: VarianceRow
    total: VarianceRow
    error: VarianceRow
    scatter: StudyScatter

    @property
    def repeatability_dof(self) -> int:
        """Degrees of freedom of the repeatability: with the interaction's where it is pooled."""
        return self.error.dof if self.is_pooled else self.repeat.dof


def two_way(sizes: Sizes, alpha: float = ALPHA) -> TwoWay:
    """The crossed random-effects analysis of a gauge study.

    The interaction is pooled if its p is over `alpha`; 1 never pools, 0 pools unless p is 0.
    Components are the differences of mean squares over how often each is counted; what comes out
    negative counts as 0 and is named. Raises ValueError for a study with holes or with fewer than 2
    parts, operators or trials. Source: NIST/SEMATECH e-Handbook 3.2.3.2 (sums of squares); D. C.
    Montgomery, Design and Analysis of Experiments, two-factor random model (both from memory).
    """
    if not 0 <= alpha <= 1:
        raise ValueError(f"a significance level of {alpha}; it lies between 0 and 1")
    parts, operators, trials = shape(sizes)
    numbers, unit = whole(value for part in sizes for cell in part for value in cell)
    cells = [sum(numbers[i : i + trials]) for i in range(0, len(numbers), trials)]
    scale = Fraction(1, unit * unit)
    mean_square = Fraction(sum(numbers) ** 2, len(numbers))

    def between(sums: Iterable[int], each: int) -> Fraction:
        return (Fraction(sum(s * s for s in sums), each) - mean_square) * scale

    by_part = between(
        (sum(cells[i : i + operators]) for i in range(0, len(cells), operators)), operators * trials
    )
    by_operator = between((sum(cells[i::operators]) for i in range(operators)), parts * trials)
    by_cell = between(cells, trials)
    total = between(numbers, 1)

    part_dof, operator_dof = parts - 1, operators - 1
    both = (by_cell - by_part - by_operator, part_dof * operator_dof)
    repeat = (total - by_cell, parts * operators * (trials - 1))
    interaction = _row(*both, repeat)
    # Without any scatter there is nothing to be significant: pooled.
    is_pooled = interaction.p is None or interaction.p > alpha
    error = (both[0] + repeat[0], both[1] + repeat[1]) if is_pooled else both
    part, operator = _row(by_part, part_dof, error), _row(by_operator, operator_dof, error)
    error_ms, repeat_ms = error[0] / error[1], repeat[0] / repeat[1]
    scatter = StudyScatter(
        (
            component(REPEATABILITY, float(error_ms if is_pooled else repeat_ms)),
            component(OPERATORS, float((by_operator / operator_dof - error_ms) / (parts * trials))),
            component(INTERACTION, float((both[0] / both[1] - repeat_ms) / trials), not is_pooled),
            component(PARTS, float((by_part / part_dof - error_ms) / (operators * trials))),
        )
    )
    return TwoWay(
        parts=parts,
        operators=operators,
        trials=trials,
        alpha=alpha,
        is_pooled=is_pooled,
        part=part,
        operator=operator,
        interaction=interaction,
        repeat=_row(*repeat),
        total=_row(total, len(numbers) - 1),
        error=_row(*error),
        scatter=scatter,
    )


def shape(sizes: Sizes) -> tuple[int, int, int]:
    """Parts, operators and trials of a whole study.

    Raises ValueError for one with holes or with fewer than 2 of any.
    """
    operators = {len(part) for part in sizes}
    trials = {len(cell) for part in sizes for cell in part}
    if len(operators) > 1 or len(trials) > 1:
        raise ValueError(
            f"a study with holes: {_words(operators)} operators a part and {_words(trials)} trials "
            "an operator; every part needs all of both"
        )
    found = (len(sizes), max(operators, default=0), max(trials, default=0))
    if min(found) < 2:
        raise ValueError(
            f"a study of {found[0]} parts, {found[1]} operators and {found[2]} trials; it takes 2 "
            "or more of each"
        )
    return found


def _row(ss: Fraction, dof: int, error: tuple[Fraction, int] | None = None) -> VarianceRow:
    ms = ss / dof
    if error is None:
        return VarianceRow(float(ss), dof, float(ms))
    error_ms = error[0] / error[1]
    if not error_ms:
        f, p = (math.inf, 0.0) if ms else (None, None)
        return VarianceRow(float(ss), dof, float(ms), f, p)
    f = float(ms / error_ms)
    return VarianceRow(float(ss), dof, float(ms), f, f_tail(f, dof, error[1]))


def _words(counts: Iterable[int]) -> str:
    return " or ".join(map(str, sorted(counts)))
