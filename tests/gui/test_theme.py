"""Text can be read and colours told apart: WCAG 2.2 contrast, and colour-vision deficiency by published matrices."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from takeoff.gui.widgets.toolkit import THEME
from takeoff.report.drawing import PALETTE, style_of
from tests.gui.contrast import TEXT_PAIRS, contrast

# Machado, Oliveira, Fernandes 2009, "A Physiologically-based Model for Simulation of Color Vision Deficiency",
# severity 1.0, linear RGB (values from memory).
DEFICIENT = {
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}


@pytest.mark.parametrize("is_dark", [False, True])
@pytest.mark.parametrize(("text", "ground"), TEXT_PAIRS)
def test_text_has_the_contrast_of_wcag_aa(text, ground, is_dark):
    # WCAG 2.2, success criterion 1.4.3: 4.5 : 1 for text of usual size
    assert contrast(THEME.of(text, is_dark), THEME.of(ground, is_dark)) >= 4.5


def test_contrast_agrees_with_the_worked_values_of_wcag():
    # WCAG 2.2, definition of contrast ratio: from 1:1 to 21:1; #767676 on white is the usual 4.54 example
    assert contrast("#FFFFFF", "#FFFFFF") == 1.0
    assert abs(contrast("#767676", "#FFFFFF") - 4.54) < 0.01


def lab(rgb):
    """CIE 1976 L*a*b* of linear sRGB under D65 (IEC 61966-2-1)."""
    xyz = np.array(((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))) @ rgb
    f = [
        (v / w) ** (1 / 3) if v / w > 0.008856 else 7.787 * v / w + 16 / 116
        for v, w in zip(xyz, (0.9505, 1, 1.089), strict=True)
    ]
    return np.array((116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])))


def linear(colour):
    c = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


@pytest.mark.parametrize("kind", DEFICIENT)
def test_colours_of_systems_stay_apart_or_differ_by_dash(kind):
    matrix = np.array(DEFICIENT[kind])
    systems = [f"s{i}" for i in range(3 * len(PALETTE))]
    styles = [style_of(s, systems) for s in systems]
    assert len(set(styles)) == len(styles)
    seen = {c: lab(np.clip(matrix @ linear(c), 0, 1)) for c in PALETTE}
    for (c0, d0), (c1, d1) in itertools.combinations(styles, 2):
        if c0 != c1:
            assert d0 != d1 or np.linalg.norm(seen[c0] - seen[c1]) > 10
        else:
            assert d0 != d1
