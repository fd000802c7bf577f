"""How likely it is that readings of a scale agree by chance.

A text that was matched to a line not its own gives a scale at random. On the sheets looked at, such scales scatter over
a factor of about thirty, evenly in their logarithm; so the number of them that lie near any one scale is known, and a
scale is claimed only where more agree than chance explains. Where the lengths on a sheet are much alike (bays, rooms in
a row), even a shuffled sheet agrees with itself: the readings are shuffled and counted too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

SCATTER = 3.4
"""Natural logarithm of the factor over which scales from texts at the wrong lines scatter: about 30 (measured on 79
texts of a plotted office plan, 1:73 to 1:3953 at the outside)."""
SHUFFLES = 60
"""How often readings are shuffled; the most that agree in 57 of 60 are taken for chance."""
MOST_TO_SHUFFLE = 300
FEWEST_TO_SHUFFLE = 6
"""With fewer readings a shuffle leaves too many in place to tell anything."""


def chance_of(support: int, tolerances: Sequence[float]) -> float:
    """Return the probability that chance makes this many readings agree, at any scale; 1 at the most.

    Parameters
    ----------
    support
        How many agree.
    tolerances
        Of all readings, how far each may lie from a scale and still agree with it, relative.

    Examples
    --------
    >>> round(chance_of(2, [0.005] * 2), 4), round(chance_of(2, [0.005] * 10), 2), chance_of(5, [0.005] * 10) < 1e-5
    (0.0117, 0.29, True)
    """
    return min(1.0, len(tolerances) * chance_at(support - 1, tolerances))


def chance_at(support: int, tolerances: Sequence[float]) -> float:
    """Return the probability that chance makes so many readings or more agree with one scale that is known otherwise.

    Examples
    --------
    >>> round(chance_at(1, [0.005] * 2), 4), round(chance_at(1, [0.02] * 26), 2)
    (0.0059, 0.26)
    """
    mean = sum(2.0 * tolerance / SCATTER for tolerance in tolerances)
    fewer = sum(math.exp(-mean) * mean**count / math.factorial(count) for count in range(support))
    return max(0.0, 1.0 - fewer)


def agree_when_shuffled(lengths: Sequence[float], spans: Sequence[float], tolerances: Sequence[float]) -> int:
    """Return how many readings agree, at any scale, when the lengths are shuffled among the spans.

    The number is reached or passed by one shuffle in twenty. 0 with fewer than `FEWEST_TO_SHUFFLE` readings.

    Parameters
    ----------
    lengths, spans
        What is written and what is drawn, in any units, one of each for each reading.
    tolerances
        How far each reading may lie from a scale and still agree with it, relative; the surest `MOST_TO_SHUFFLE` first.
    """
    if len(lengths) < FEWEST_TO_SHUFFLE:
        return 0
    kept = slice(0, MOST_TO_SHUFFLE)
    written, drawn, reach = np.log(np.array(lengths[kept])), np.log(np.array(spans[kept])), np.array(tolerances[kept])
    order = np.random.default_rng(0)  # always the same shuffles: a sheet is read alike every time
    most: list[int] = []
    for _ in range(SHUFFLES):
        scales = order.permutation(written) - drawn
        most.append(int((np.abs(scales[:, None] - scales[None, :]) <= reach[:, None]).sum(axis=0).max()))
    return sorted(most)[math.ceil(0.95 * SHUFFLES) - 1]
