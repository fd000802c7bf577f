"""Register two sheets by their pictures: features for a first guess, then many small patches to a part of a pixel."""

from __future__ import annotations

import math
from typing import Any, Unpack

import numpy as np

from takeoff.errors import SheetError
from takeoff.revise.pictures import Picture
from takeoff.revise.register_lines import ALIKE, CLEAR
from takeoff.revise.registration import BY_HAND, MANY_PLACES, OTHER_SHEET, Aim, Floats, Registration, apply, finished

FEATURES = 4000
GUESS_SIDE = 2000
"""Pixels of the longer side of the pictures in which features are looked for."""
PATCH, REACH = 48, 12
"""Half side of a patch and how far it is looked for, in pixels."""
MOST_PATCHES = 500
GOOD = 0.7
"""Correlation from which a patch counts as found."""
FLOOR_PX = 0.05
"""Spread of a patch's place in pixels (measured on warped sheets, see the tests)."""
BIAS_PX = 0.15
"""Pixels by which all patches may be off together: pens drawn heavier, edges blurred to one side (seen on scans)."""
Found = tuple[Floats, Floats, float]
"""Matched places of patches, as pixel centres, and the share of all patches that they are."""
LEAST_PATCHES = 12
LEAST_SHARE = 0.3
"""Part of the patches that must be found again."""


def register_pictures(
    old: Picture, new: Picture, *, old_dpi: float, new_dpi: float, **aim: Unpack[Aim]
) -> Registration:
    """Register a new sheet onto an old one by grey pictures of both.

    Raises `SheetError` when too little of the old drawing is found on the new one, or not well enough.

    Parameters
    ----------
    old, new
        Grey pictures of the whole sheets, dark ink on light paper, unrotated.
    aim
        What for (`Aim`).
    """
    to_px, from_px = old_dpi / 72.0, 72.0 / new_dpi
    focus_pt = aim["focus_pt"]
    left, top = max(int(focus_pt[0] * to_px), 0), max(int(focus_pt[1] * to_px), 0)
    right, bottom = min(math.ceil(focus_pt[2] * to_px), old.shape[1]), min(math.ceil(focus_pt[3] * to_px), old.shape[0])
    part = old[top:bottom, left:right]
    if part.size == 0 or min(part.shape) < 4 * PATCH:
        raise SheetError("the part of the old sheet to look at is too small", remedy=BY_HAND)
    first, second, share = found = _patches(part, new, _guess(part, new))
    if len(first) < LEAST_PATCHES or share < LEAST_SHARE:
        raise SheetError(f"only {share:.0%} of the old drawing is found on the new sheet", remedy=OTHER_SHEET)
    first, second, share = _told_apart(old, (left, top, right, bottom), new, found)
    # pixel centres lie half a pixel in from the edge that sheet points count from
    a = (first + 0.5 + np.array([left, top])) / to_px
    b = (second + 0.5) * from_px
    return finished(
        a, b, method="picture", share=share, floor=FLOOR_PX * from_px, bias=BIAS_PX * from_px, **aim
    )  # fmt: skip


def _told_apart(old: Picture, box: tuple[int, int, int, int], new: Picture, found: Found) -> Found:
    """Choose, of several places where a drawing like the one in a box lies, the one that fits what is beside it too.

    Two storeys on a sheet may be alike. Where one like it stands on the new sheet or on the old one, that one may be
    what was found.
    """
    left, top, right, bottom = box
    part, here = old[top:bottom, left:right], _map_of(found)
    corners = np.array([[0, 0], [right - left, 0], [right - left, bottom - top], [0, bottom - top]], float)
    beside = _without(old, corners + np.array([left, top]))
    ways = [here]
    for picture, is_new in ((_without(new, apply(_row(here), corners)), True), (beside, False)):
        twin = _found_again(part, picture, ALIKE * found[2])
        if twin is not None:
            moved = np.array([[1.0, 0, left], [0, 1.0, top], [0, 0, 1.0]])
            ways.append(twin if is_new else here @ np.linalg.inv(twin) @ moved)
    if len(ways) == 1:
        return found
    away = np.array([[1.0, 0, -left], [0, 1.0, -top], [0, 0, 1.0]])
    places = _telling(beside)
    kept = [sum(_one_patch(old, new, _row(way @ away), at, 3 * REACH) is not None for at in places) for way in ways]
    best = int(np.argmax(kept))
    others = [count for i, count in enumerate(kept) if i != best]
    is_clear = kept[best] >= max(LEAST_SHARE * len(places), LEAST_PATCHES) and max(others) < CLEAR * kept[best]
    chosen = found if best == 0 else _patches(part, new, _row(ways[best]))
    if not is_clear or len(chosen[0]) < LEAST_PATCHES:
        raise SheetError(MANY_PLACES, remedy=BY_HAND)
    return chosen


def _found_again(part: Picture, picture: Picture, least: float) -> Floats | None:
    """Return the map onto another place that shows a drawing, as a matrix; nothing where less than a share of it is."""
    try:
        found = _patches(part, picture, _guess(part, picture))
    except SheetError:
        return None
    return _map_of(found) if found[2] >= least and len(found[0]) >= LEAST_PATCHES else None


def _map_of(found: Found) -> Floats:
    """Return the matrix that takes matched places onto each other best."""
    first, second, _ = found
    matrix, *_ = np.linalg.lstsq(np.column_stack([first, np.ones(len(first))]), second, rcond=None)
    return np.vstack([matrix.T, [0.0, 0.0, 1.0]])


def _row(matrix: Floats) -> tuple[float, ...]:
    return tuple(matrix[:2].ravel().tolist())


def _without(picture: Picture, corners: Floats) -> Picture:
    """Return a picture with a part of it, by its corners, left white."""
    import cv2

    blank = picture.copy()
    cv2.fillPoly(blank, [np.round(corners).astype(np.int32)], 255)
    return blank


def _shrunk(picture: Picture, side: int) -> tuple[Picture, float]:
    import cv2

    scale = min(side / max(picture.shape), 1.0)
    if scale == 1.0:
        return picture, 1.0
    size = (round(picture.shape[1] * scale), round(picture.shape[0] * scale))
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8), scale


def _guess(old: Picture, new: Picture) -> tuple[float, ...]:
    """First map of old pixels to new ones, from features and the map that most of them agree on."""
    import cv2

    cv: Any = cv2  # its types leave the feature finders out
    # both drawings to about one size, so that the same features are seen
    small_old, scale_old = _shrunk(old, GUESS_SIDE)
    small_new, scale_new = _shrunk(new, round(GUESS_SIDE * max(1.0, max(new.shape) / max(old.shape))))
    finder = cv.ORB_create(nfeatures=FEATURES, scaleFactor=1.2, nlevels=10, edgeThreshold=25, patchSize=41)
    points_old, words_old = finder.detectAndCompute(small_old, None)
    points_new, words_new = finder.detectAndCompute(small_new, None)
    if words_old is None or words_new is None or len(points_old) < 50 or len(points_new) < 50:
        raise SheetError("there is too little on the sheets to register them by", remedy=BY_HAND)
    pairs = cv2.BFMatcher(cv2.NORM_HAMMING).knnMatch(words_old, words_new, k=2)
    good = [p[0] for p in pairs if len(p) == 2 and p[0].distance < 0.85 * p[1].distance]
    if len(good) < 10:
        raise SheetError("the new sheet does not show what the old one shows", remedy=OTHER_SHEET)
    a = np.array([points_old[m.queryIdx].pt for m in good])
    b = np.array([points_new[m.trainIdx].pt for m in good])
    cv2.setRNGSeed(1)
    matrix, inside = cv2.estimateAffinePartial2D(
        a, b, method=cv2.RANSAC, ransacReprojThreshold=4.0, maxIters=20000, confidence=0.9999
    )
    if matrix is None or int(inside.sum()) < 10:
        raise SheetError("the new sheet does not show what the old one shows", remedy=OTHER_SHEET)
    # pixel centres: p' + ½ = s (p + ½)
    shrunk_old, shrunk_new = (
        np.array([[s, 0, (s - 1) / 2], [0, s, (s - 1) / 2], [0, 0, 1]]) for s in (scale_old, scale_new)
    )
    whole = np.linalg.inv(shrunk_new) @ np.vstack([matrix, [0, 0, 1]]) @ shrunk_old
    return tuple(whole[:2].ravel().tolist())


def _patches(old: Picture, new: Picture, guess: tuple[float, ...]) -> Found:
    """Find patches of the old picture in the new one about where the guess puts them; gives pixel centres."""
    import cv2

    places = _telling(old)
    matrix = guess
    first = second = np.zeros((0, 2))
    share = 0.0
    for reach in (3 * REACH, REACH):
        found = [_one_patch(old, new, matrix, place, reach) for place in places]
        hits = [(p, q) for p, q in zip(places, found, strict=True) if q is not None]
        share = len(hits) / max(len(places), 1)
        if len(hits) < LEAST_PATCHES:
            break
        first, second = np.array([h[0] for h in hits], float), np.array([h[1] for h in hits], float)
        kind = cv2.estimateAffine2D(first, second, method=cv2.RANSAC, ransacReprojThreshold=1.5, maxIters=5000)
        if kind[0] is None:
            break
        inside = kind[1].ravel().astype(bool)
        first, second = first[inside], second[inside]
        share = float(inside.sum()) / max(len(places), 1)
        (a, b, c), (d, e, f) = kind[0].tolist()
        matrix = (a, b, c, d, e, f)
    return first, second, share


def _telling(picture: Picture) -> list[tuple[int, int]]:
    """Places with lines in two directions, spread over the picture."""
    import cv2

    half = cv2.resize(picture, (picture.shape[1] // 2, picture.shape[0] // 2), interpolation=cv2.INTER_AREA)
    corners = cv2.goodFeaturesToTrack(
        half,
        maxCorners=MOST_PATCHES,
        qualityLevel=0.02,
        minDistance=max(PATCH, min(picture.shape) / 40) / 2,
        blockSize=9,
    )
    if corners is None:
        return []
    height, width = picture.shape
    out = [(round(2.0 * float(x) + 0.5), round(2.0 * float(y) + 0.5)) for x, y in corners.reshape(-1, 2)]
    return [(x, y) for x, y in out if PATCH <= x < width - PATCH and PATCH <= y < height - PATCH]


def _one_patch(
    old: Picture, new: Picture, matrix: tuple[float, ...], place: tuple[int, int], reach: int
) -> tuple[float, float] | None:
    """Find one patch; the new picture is turned and scaled to the old one's frame about it."""
    import cv2

    x, y = place
    patch = old[y - PATCH : y + PATCH + 1, x - PATCH : x + PATCH + 1]
    a, b, _, d, e, _ = matrix
    half = PATCH + reach
    middle = apply(matrix, np.array([[x, y]], float))[0]
    if not (0 <= middle[0] < new.shape[1] and 0 <= middle[1] < new.shape[0]):
        return None
    window = np.array([[a, b, middle[0] - a * half - b * half], [d, e, middle[1] - d * half - e * half]])
    seen = cv2.warpAffine(
        new, window, (2 * half + 1, 2 * half + 1), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_CONSTANT, borderValue=255,
    )  # fmt: skip
    if int(patch.std()) < 4 or int(seen.std()) < 4:
        return None
    match = cv2.matchTemplate(seen, patch, cv2.TM_CCOEFF_NORMED)
    _, best, _, (px, py) = cv2.minMaxLoc(match)
    if best < GOOD or not (0 < px < 2 * reach and 0 < py < 2 * reach):
        return None
    dx = px + _crest(match[py, px - 1 : px + 2]) - reach
    dy = py + _crest(match[py - 1 : py + 2, px]) - reach
    return (float(middle[0] + a * dx + b * dy), float(middle[1] + d * dx + e * dy))


def _crest(three: Any) -> float:
    """Top of the parabola through three values, from the middle one."""
    low, mid, high = (float(v) for v in three)
    bend = low - 2.0 * mid + high
    return 0.0 if bend >= 0.0 else max(-0.5, min(0.5, 0.5 * (low - high) / bend))
