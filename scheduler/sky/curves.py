"""Smooth curves sampled at equal steps: their values between samples, and their zeros.

Between two samples a curve is the polynomial through the ten samples around them (Lagrange
interpolation; Press et al., Numerical Recipes, 3rd ed., section 3.2, for the method and its
error term). For a sinusoid of angular speed w the error of ten points is at most
0.00024 (w step)^10: 1e-13 for the Moon's monthly round at steps of half a day, 4e-10 for the
daily turn at steps of an hour.

A change of sign between neighbouring samples brackets a zero; Newton's method closes in, and a
step that would leave the bracket is replaced by halving it (safeguarded Newton, Numerical
Recipes, section 9.4). A curve may also touch zero between two samples and turn back, as the
Sun does at the edge of the polar night. Wherever a sample is nearer to zero than ``reach`` and
is a turning point, the turning point of the polynomial itself is tested; if it lies across, two
zeros are added. The grazing test is ours.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

BEFORE = 4  # samples needed before the interval's first sample
AFTER = 5  # samples needed after the interval's first sample
_POINTS = BEFORE + 1 + AFTER
_OFFSETS = np.arange(-BEFORE, AFTER + 1)
# Inside an interval the place is counted from its middle, v = -0.5 ... 0.5,
# where the powers of v are smallest and rounding does least harm.
_TO_POLYNOMIAL = np.linalg.inv(np.vander(_OFFSETS - 0.5, increasing=True))
_CLOSE_ENOUGH = 1e-13  # steps; three tenths of a nanosecond on the hourly curves
_MOST_ROUNDS = 60  # halving alone needs 43 to come this close


class Crossings(NamedTuple):
    """Zeros of several curves over one run of samples.

    Args:
        row: (m,) which curve.
        sample: (m,) number of the sample before the zero.
        beyond: (m,) how far beyond that sample the zero lies, in steps, 0 to 1; kept apart
            from ``sample`` so that it does not depend on where the run begins.
        rising: (m,) True where the curve goes from below zero to above.
    """

    row: Ints
    sample: Ints
    beyond: Floats
    rising: Bools


def _powers(v: Floats) -> Floats:
    """Powers 0 to 9 of ``v``; shape (10, m)."""
    powers: Floats = np.power(v, np.arange(_POINTS)[:, None])
    return powers


def _polynomials(curves: Floats, row: Ints, interval: Ints) -> Floats:
    """Coefficients (10, m) of the polynomials for the given intervals of the given curves."""
    flat = row * curves.shape[1] + interval
    samples = curves.reshape(-1).take(flat + _OFFSETS[:, None])
    # Not a matrix product: on some processors its order of summing depends on how many columns
    # there are, and a zero should come out the same to the last bit in whatever company.
    polynomials: Floats = np.einsum("ij,jm->im", _TO_POLYNOMIAL, samples)
    return polynomials


def _slope_of(polynomials: Floats) -> Floats:
    """Coefficients of the first derivative, (n - 1, m), per step."""
    return polynomials[1:] * np.arange(1, len(polynomials))[:, None]


def _evaluate(polynomials: Floats, v: Floats) -> Floats:
    """Values of the polynomials at ``v`` by Horner's rule; shape (m,)."""
    total: Floats = polynomials[-1].copy()
    for coefficient in polynomials[-2::-1]:
        total *= v
        total += coefficient
    return total


def _zeros(polynomials: Floats, low: Floats, high: Floats) -> Floats:
    """The zero of each polynomial (n, m) between ``low`` and ``high``, where its signs differ."""
    found = np.empty_like(low)
    todo = np.arange(low.size)
    at_low, at_high = _evaluate(polynomials, low), _evaluate(polynomials, high)
    rising = at_high > at_low
    with np.errstate(divide="ignore", invalid="ignore"):
        v = _inside(low + (high - low) * at_low / (at_low - at_high), low, high)
        for _ in range(_MOST_ROUNDS):
            value = _evaluate(polynomials, v)
            beyond = (value > 0) == rising
            low, high = np.where(beyond, low, v), np.where(beyond, v, high)
            better = _inside(v - value / _evaluate(_slope_of(polynomials), v), low, high)
            going = np.abs(better - v) > _CLOSE_ENOUGH
            found[todo] = v = better
            if not going.any():
                break
            if not going.all():
                todo, v, low, high = todo[going], v[going], low[going], high[going]
                polynomials, rising = polynomials[:, going], rising[going]
    return found


def _inside(v: Floats, low: Floats, high: Floats) -> Floats:
    """``v`` where it lies in the bracket, else the middle of the bracket."""
    return np.where((v >= low) & (v <= high), v, 0.5 * (low + high))


def crossings(curves: Floats, reach: float = 0.0) -> Crossings:
    """All zeros of some curves, in the order of their rows and then of time.

    Args:
        curves: (rows, n) samples at equal steps. Zeros are looked for from sample 4 to
            sample n - 5, where the polynomials have all their samples; runs that overlap by
            nine samples therefore share out all zeros between them.
        reach: how far a curve may go beyond a sample before turning back within one
            step; samples nearer to zero than this are tested for a hidden pair of zeros.
    """
    above = curves > 0
    usable = slice(BEFORE, curves.shape[1] - AFTER + 1)
    row, interval = np.nonzero(above[:, usable][:, 1:] != above[:, usable][:, :-1])
    interval = interval + BEFORE
    half = np.full(row.size, 0.5)
    v = _zeros(_polynomials(curves, row, interval), -half, half)
    plain = Crossings(row, interval, v + 0.5, ~above[row, interval])
    return _merged(plain, _grazing(curves, reach), curves.shape[1])


def _grazing(curves: Floats, reach: float) -> Crossings:
    """Pairs of zeros that hide between two samples of the same sign."""
    last = curves.shape[1] - AFTER - 1
    row, sample = np.nonzero(np.abs(curves[:, BEFORE : last + 2]) < reach)
    sample += BEFORE
    side = np.where(curves[row, sample] > 0, 1.0, -1.0)
    before, here, after = (side * curves[row, sample + step] for step in (-1, 0, 1))
    turning = (here <= before) & (here < after)
    row, sample, side = row[turning], sample[turning], side[turning]
    # The turning point lies before the sample if the curve already leaves zero there.
    nearest = np.minimum(sample, last)
    slope = _slope_of(_polynomials(curves, row, nearest))
    interval = sample - (side * _evaluate(slope, sample - nearest - 0.5) > 0)
    usable = (interval >= BEFORE) & (interval <= last)
    return _pairs(curves, row[usable], interval[usable])


def _pairs(curves: Floats, row: Ints, interval: Ints) -> Crossings:
    """The two zeros in each interval whose turning point lies across zero."""
    polynomials = _polynomials(curves, row, interval)
    half = np.full(row.size, 0.5)
    turn = _zeros(_slope_of(polynomials), -half, half)
    above = curves[row, interval] > 0
    across = (_evaluate(polynomials, turn) > 0) != above
    across &= (curves[row, interval + 1] > 0) == above
    row, interval, above = row[across], interval[across], above[across]
    polynomials, turn, half = polynomials[:, across], turn[across], half[across]
    v = np.concatenate((_zeros(polynomials, -half, turn), _zeros(polynomials, turn, half)))
    return Crossings(
        np.tile(row, 2), np.tile(interval, 2), v + 0.5, np.concatenate((~above, above))
    )


def _merged(plain: Crossings, grazing: Crossings, length: int) -> Crossings:
    """Both sets of zeros, of curves of ``length`` samples, by row and then by time."""
    if not grazing.row.size:
        return plain
    both: list[NDArray[Any]] = [np.concatenate(pair) for pair in zip(plain, grazing, strict=True)]
    row, sample, beyond, rising = both
    order = np.argsort(row * length + sample + beyond, kind="stable")  # almost in order already
    return Crossings(row[order], sample[order], beyond[order], rising[order])


def values_at(curves: Floats, at: Floats) -> Floats:
    """(m, c) values of curves, (n, c), at (m,) places in steps from the first sample.

    The places lie between sample 4 and sample n - 6.
    """
    interval = np.floor(at).astype(np.int64)
    weights = _TO_POLYNOMIAL.T @ _powers(at - interval - 0.5)
    values: Floats = np.einsum("km,kmc->mc", weights, curves[interval + _OFFSETS[:, None]])
    return values


def densified(curves: Floats, parts: int) -> Floats:
    """Curves, (n, c), at steps that are ``parts`` times shorter.

    The ((n - 9) * parts, c) samples begin at sample 4 of ``curves``.
    """
    weights = _TO_POLYNOMIAL.T @ _powers(np.arange(parts) / parts - 0.5)
    windows = np.lib.stride_tricks.sliding_window_view(curves, _POINTS, axis=0)
    dense: Floats = (windows @ weights).transpose(0, 2, 1)
    return dense.reshape(-1, curves.shape[1])
