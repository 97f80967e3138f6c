"""Colours that can be read, measured by the formula of WCAG 2.2."""

import pytest

from linkbudget.report.palette import PALETTE, TEXT_ROLES


def _luminance(colour):
    """Relative luminance, WCAG 2.2, definition "relative luminance"."""
    parts = [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one, other):
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_the_formula_gives_the_known_ratios():
    # 21:1 is the ratio that WCAG 2.2 names as the largest; #767676 on white is the grey that
    # accessibility guides name as the lightest to reach 4.5 (4.54)
    assert _contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert _contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize("role", TEXT_ROLES)
def test_text_reaches_a_contrast_of_4_5(role, scheme):
    colour = PALETTE[role][scheme]
    assert _contrast(colour, PALETTE["paper"][scheme]) >= 4.5
    assert _contrast(colour, PALETTE["panel"][scheme]) >= 4.5


@pytest.mark.parametrize("role", TEXT_ROLES)
def test_text_reaches_a_contrast_of_4_5_on_white_print(role):
    assert _contrast(PALETTE[role][0], "#ffffff") >= 4.5


# Machado, Oliveira, Fernandes (2009), severity 1.0, on linear RGB, rows of three (from memory)
_MACHADO = {
    "protan": "0.152286 1.052583 -0.204868 0.114503 0.786281 0.099216 -0.003882 -0.048116 1.051998",
    "deutan": "0.367322 0.860646 -0.227968 0.280085 0.672501 0.047413 -0.011820 0.042940 0.968881",
    "tritan": "1.255528 -0.076749 -0.178779 -0.078411 0.930809 0.147602 0.004733 0.691367 0.303900",
}
DEFICIENCY = {
    kind: [tuple(map(float, text.split()[at : at + 3])) for at in (0, 3, 6)]
    for kind, text in _MACHADO.items()
}


STANDING_PAIRS = [("lake", "ochre"), ("lake", "madder"), ("ochre", "madder")]


def _lab(colour, matrix):
    parts = [int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    r, g, b = (
        min(1.0, max(0.0, sum(m * c for m, c in zip(row, linear, strict=True)))) for row in matrix
    )
    x = (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.95047
    y = 0.2126 * r + 0.7152 * g + 0.0722 * b
    z = (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.08883
    fx, fy, fz = (t ** (1 / 3) if t > 0.008856 else 7.787 * t + 16 / 116 for t in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize("kind", DEFICIENCY)
@pytest.mark.parametrize("pair", STANDING_PAIRS, ids="/".join)
def test_the_three_standings_stay_apart_for_every_eye(pair, kind, scheme):
    one, other = (_lab(PALETTE[role][scheme], DEFICIENCY[kind]) for role in pair)
    distance = sum((a - b) ** 2 for a, b in zip(one, other, strict=True)) ** 0.5
    assert distance >= 20.0  # CIE 1976 difference; 2 is just noticeable


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize("kind", DEFICIENCY)
def test_with_and_without_metal_stay_apart_for_every_eye(kind, scheme):
    one, other = (_lab(PALETTE[role][scheme], DEFICIENCY[kind]) for role in ("lake", "copper"))
    assert sum((a - b) ** 2 for a, b in zip(one, other, strict=True)) ** 0.5 >= 20.0
