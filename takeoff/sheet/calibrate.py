r"""Fitting a calibration to known dimensions, and making one from a stated scale.

The picks are taken to err by ``pick`` points in each coordinate, one as the other. A picked distance d then errs by
√2 × pick along itself, and a scale s = L / d from one dimension has

    (u_s / s)² = (u_L / L)² + (√2 pick / d)²           (JCGM 100:2008, 5.1.2 equation 10)

Several dimensions are fitted by least squares with those weights. Where they scatter more than the picks explain, the
uncertainty is enlarged by the Birge ratio √(χ² / (n − p)); where they scatter less, it is left as it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from takeoff.errors import CalibrationError
from takeoff.model.plan import Calibration, KnownDimension
from takeoff.sheet.embedded import EmbeddedScale
from takeoff.sheet.scales import (
    LARGEST_RATIO,
    METRES_PER_POINT_AT_FULL_SIZE,
    SMALLEST_RATIO,
    parse_scale_note,
    ratio_of,
    ratio_text,
)

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

U_STATED = 0.002
"""Relative standard uncertainty of a stated scale: a print or plot true to 0.2 % (common practice, no source)."""
U_EMBEDDED = 0.001
"""Relative standard uncertainty of a scale in the file itself, untouched by a printer (common practice, no source)."""
LEAF = (0.60, 1.25)
"""Metres that the middle one of a sheet's door leaves is wide: doors of 24 to 48 in (common practice, no source)."""
ENOUGH_TURN = 0.5
"""Least spread of cos² of the dimensions' angles to x for x and y to be fitted apart: 0.5 is from 0° to 45°."""
DISAGREE = 0.03
"""Dimensions this far apart are doubted however short they are: 3 %, a misread inch in a yard."""
STRETCH = 0.02
"""A difference between x and y beyond this is more than scanners and printers do (common practice, no source)."""
COARSE = 0.02
"""A scale less certain than this is doubted: twice it on either side is 4 % of every length."""
USELESS = 0.125
"""Standard uncertainty from which a scale is refused: a quarter at k = 2 (our choice)."""


_Fit = tuple[float, float, float, float | None]
"""Scale along x and y, the worse one's relative standard uncertainty, and that of their ratio if fitted apart."""


def fit_calibration(
    sheet_id: int,
    dimensions: Sequence[KnownDimension],
    *,
    region: str | None = None,
    pick: float = 0.5,
    note_m_per_pt: float | None = None,
    length_u: float = 0.0,
    is_even: bool = False,
) -> Calibration:
    """Fit a calibration to known dimensions; its ``u_scale`` is that of the worse direction, ``doubts`` what disagrees.

    Raises `CalibrationError` when there is no dimension, one has no length on paper or in the building, or the scale is
    one no plan has.

    Parameters
    ----------
    dimensions
        Picked points in sheet points, true lengths in metres. From two that turn far enough (`ENOUGH_TURN`) the scales
        along x and y are fitted apart; otherwise one scale is fitted.
    region
        Id of the scale region the calibration is for.
    pick
        Standard uncertainty of one picked coordinate in points.
    note_m_per_pt
        Scale that the sheet's note gives in metres per point, to be compared.
    length_u
        Standard uncertainty in metres of each stated length.
    is_even
        True for a page that no scanner stretched: two scales only where they differ beyond doubt.

    Examples
    --------
    >>> forty_feet = KnownDimension(start_pt=(0, 0), end_pt=(360, 0), length=12.192)
    >>> fitted = fit_calibration(1, [forty_feet])
    >>> round(fitted.ratio, 6), round(fitted.u_scale * 100, 8)
    (96.0, 0.19641855)
    """
    import numpy as np

    _check_inputs(dimensions)
    squares = np.square([(d.end_pt[0] - d.start_pt[0], d.end_pt[1] - d.start_pt[1]) for d in dimensions])
    lengths = np.array([d.length for d in dimensions], dtype=float)
    fit = mx, my, u, _ = _fit(squares, lengths, pick, length_u, is_even=is_even, where=f"sheet {sheet_id}")
    fitted = np.sqrt(squares @ np.array([mx**2, my**2]))
    u_own = np.sqrt(_variance(squares, mx, my, pick, length_u)) / fitted
    scatter = _scatter_doubts(lengths / np.sqrt(squares.sum(axis=1)), lengths / fitted, u_own)
    return Calibration(
        sheet=sheet_id,
        region=region,
        mx=mx,
        my=my,
        u_scale=u,
        pick=pick,
        source="dimensions",
        dimensions=tuple(dimensions),
        residuals=tuple(float(value) for value in fitted - lengths),
        doubts=(*scatter, *_fit_doubts(fit, note_m_per_pt)),
    )


def calibration_from_ratio(sheet_id: int, ratio: float, *, region: str | None = None) -> Calibration:
    """Make a calibration from the N of 1:N, with the relative standard uncertainty of a stated scale (`U_STATED`).

    Raises `CalibrationError` when no plan has such a scale.

    Examples
    --------
    >>> round(calibration_from_ratio(1, 50).mx, 8)
    0.01763889
    """
    scale = ratio * METRES_PER_POINT_AT_FULL_SIZE
    _check_ratio(scale)
    return Calibration(
        sheet=sheet_id, region=region, mx=scale, my=scale, u_scale=U_STATED, source="ratio", stated=ratio_text(scale)
    )


def calibration_from_note(sheet_id: int, note: str, *, region: str | None = None) -> Calibration:
    """Make a calibration from a written scale, with the relative standard uncertainty of a stated scale (`U_STATED`).

    Raises `CalibrationError` when the note gives no scale.
    """
    scale = parse_scale_note(note)
    return Calibration(
        sheet=sheet_id, region=region, mx=scale, my=scale, u_scale=U_STATED, source="note", stated=note.strip()
    )


def calibration_from_embedded(sheet_id: int, embedded: EmbeddedScale, *, region: str | None = None) -> Calibration:
    """Make a calibration from a scale that the PDF carries, with the uncertainty `U_EMBEDDED` and its own doubts."""
    return Calibration(
        sheet=sheet_id,
        region=region,
        mx=embedded.mx,
        my=embedded.my,
        u_scale=U_EMBEDDED,
        source="embedded",
        stated=embedded.stated,
        doubts=embedded.doubts,
    )


def _check_inputs(dimensions: Sequence[KnownDimension]) -> None:
    """Refuse dimensions that give no scale."""
    if not dimensions:
        raise CalibrationError(
            "there is no dimension to calibrate with", remedy="Pick two points and enter their distance."
        )
    for number, known in enumerate(dimensions, start=1):
        where = f"dimension {number}"
        if not all(math.isfinite(value) for value in (*known.start_pt, *known.end_pt)):
            raise CalibrationError("a picked point is not on the sheet", remedy="Pick it again.", where=where)
        distance = math.dist(known.start_pt, known.end_pt)
        if distance == 0:
            raise CalibrationError(
                "the two picked points are the same", remedy="Pick both ends of the dimension.", where=where
            )
        if not (math.isfinite(known.length) and known.length > 0):
            raise CalibrationError(
                f"the length is {known.length!r} m; it must be more than zero",
                remedy="Enter the length that the drawing states.",
                where=where,
            )
        _check_ratio(known.length / distance, where)


def _check_ratio(scale: float, where: str = "") -> None:
    """Refuse a scale in metres per point that no plan has."""
    ratio = ratio_of(scale)
    if not SMALLEST_RATIO <= ratio <= LARGEST_RATIO:
        raise CalibrationError(
            f"the scale would be 1:{ratio:g}, which no plan has",
            remedy="Check the length, its unit and the picked points.",
            where=where,
        )


def _variance(squares: Array, mx: float, my: float, pick: float, length_u: float) -> Array:
    """Return the variance in m² of stated minus fitted length of each dimension; ``squares`` in pt²."""
    fitted_squares = squares @ [mx**2, my**2]
    picking: Array = 2 * pick**2 * (squares @ [mx**4, my**4]) / fitted_squares
    return picking + length_u**2


def _birge(residuals: Array, variance: Array, parameters: int) -> float:
    """Return the factor by which scatter beyond the picking error enlarges the uncertainty, 1 or more."""
    freedom = len(residuals) - parameters
    return max(1.0, math.sqrt(float((residuals**2 / variance).sum()) / freedom)) if freedom > 0 else 1.0


def _fit(squares: Array, lengths: Array, pick: float, length_u: float, *, is_even: bool, where: str) -> _Fit:
    """Fit x and y apart where the dimensions turn enough, else one scale; a useless one is refused."""
    import numpy as np

    turn = squares[:, 0] / squares.sum(axis=1)
    apart = len(lengths) > 1 and float(np.ptp(turn)) >= ENOUGH_TURN
    fit = _fit_apart(squares, lengths, pick, length_u) if apart else _fit_one(squares, lengths, pick, length_u)
    if is_even and fit[3] is not None and abs(fit[1] / fit[0] - 1.0) <= 2 * fit[3]:
        fit = _fit_one(squares, lengths, pick, length_u)
    if fit[2] > USELESS:
        raise CalibrationError(
            f"it would be uncertain by {2 * fit[2]:.0%} (k = 2)",
            remedy="Pick the ends of a longer dimension, and check its length.",
            where=where,
        )
    return fit


def _fit_one(squares: Array, lengths: Array, pick: float, length_u: float) -> _Fit:
    """Fit one scale: L = s d, all weights being equal."""
    distances = squares.sum(axis=1) ** 0.5
    scale = float(lengths @ distances / (distances @ distances))
    variance = _variance(squares, scale, scale, pick, length_u)
    birge = _birge(scale * distances - lengths, variance, 1)
    u = birge * math.sqrt(float(variance[0] / (distances @ distances))) / scale
    return scale, scale, u, None


def _fit_apart(squares: Array, lengths: Array, pick: float, length_u: float) -> _Fit:
    """Fit the scales along x and y: L² = (mx dx)² + (my dy)², by Gauss-Newton on L from the one scale."""
    import numpy as np

    scales = np.array(_fit_one(squares, lengths, pick, length_u)[:2])
    for _ in range(50):
        fitted = np.sqrt(squares @ scales**2)
        variance = _variance(squares, scales[0], scales[1], pick, length_u)
        slopes = squares * scales / fitted[:, None] / np.sqrt(variance)[:, None]
        step = np.linalg.lstsq(slopes, (lengths - fitted) / np.sqrt(variance), rcond=None)[0]
        scales = np.clip(scales + step, scales / 2, scales * 2)
        if np.all(np.abs(step) <= 1e-14 * scales):
            break
    birge = _birge(fitted - lengths, variance, 2)
    relative = birge**2 * np.linalg.inv(slopes.T @ slopes) / np.outer(scales, scales)
    u_ratio = math.sqrt(float(relative[0, 0] + relative[1, 1] - 2 * relative[0, 1]))
    return float(scales[0]), float(scales[1]), math.sqrt(float(relative.diagonal().max())), u_ratio


def _scatter_doubts(own: Array, against_fit: Array, u_own: Array) -> list[str]:
    """Tell of dimensions that disagree beyond three standard uncertainties, or by `DISAGREE`."""
    high, low = int(against_fit.argmax()), int(against_fit.argmin())
    spread = float(against_fit[high] / against_fit[low]) - 1.0
    if spread <= min(DISAGREE, 3 * math.hypot(u_own[high], u_own[low])):
        return []
    first, second = sorted((high, low))
    return [
        f"the dimensions disagree by {spread:.1%}: dimension {first + 1} gives {ratio_text(float(own[first]))}, "
        f"dimension {second + 1} gives {ratio_text(float(own[second]))}"
    ]


def _fit_doubts(fit: _Fit, note: float | None) -> list[str]:
    """Tell of x against y, of a note that the fit contradicts, and of a fit that is uncertain."""
    doubts, (mx, my, u, u_ratio) = [], fit
    difference, scale = my / mx - 1.0, math.sqrt(mx * my)
    if u_ratio is not None and abs(difference) > max(2 * u_ratio, 1e-9):
        told = (
            f"the scale along y differs from that along x by {difference:+.2%} ± {2 * u_ratio:.2%}: "
            f"{ratio_text(mx)} along x, {ratio_text(my)} along y"
        )
        more = "; scanners and printers stretch less: a dimension may be misread"
        doubts.append(told + more * (abs(difference) > STRETCH))
    if note is not None and abs(note / scale - 1.0) > 2 * math.hypot(u, U_STATED):
        doubts.append(f"the note says {ratio_text(note)}, the dimensions give {ratio_text(scale)}")
    if u > COARSE:
        doubts.append(f"the scale is uncertain by {2 * u:.1%} (k = 2): use a longer dimension")
    return doubts
