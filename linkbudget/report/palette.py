"""The colours of the report, light and dark, named by what they mean."""

from __future__ import annotations

from typing import Literal

Role = Literal[
    "paper",
    "panel",
    "ink",
    "muted",
    "rule",
    "lake",
    "copper",
    "violet",
    "moss",
    "ochre",
    "madder",
    "slate",
    "lake-veil",
    "lake-haze",
    "copper-veil",
    "copper-haze",
    "violet-veil",
    "slate-veil",
    "paper-veil",
]

# Text colours reach a contrast of 4.5 on paper and panel (WCAG 2.2, 1.4.3) in both schemes; the
# tests hold them to it. Lake, copper, ochre and madder stay apart in the common colour-vision
# deficiencies; violet and moss only tell scans apart, whose lines differ in dash as well.
PALETTE: dict[Role, tuple[str, str]] = {
    "paper": ("#fbfaf6", "#14191d"),
    "panel": ("#f3f1ea", "#1d2429"),
    "ink": ("#1b2228", "#e9e6de"),
    "muted": ("#55606a", "#a3adb5"),
    "rule": ("#d6d2c6", "#39434a"),
    "lake": ("#0b5c7d", "#6dbbe0"),  # without metal; clear of a line
    "copper": ("#b2480b", "#f39a5f"),  # with metal
    "violet": ("#5b3f9b", "#b9a3f5"),  # the product's own transmitter
    "moss": ("#3f6b2f", "#9cc77f"),
    "ochre": ("#8a6100", "#e3b64b"),  # inside the uncertainty
    "madder": ("#7f1230", "#ff8fa0"),  # over a line
    "slate": ("#616c76", "#8f9ba6"),  # not measured
    "lake-veil": ("rgba(11,92,125,0.20)", "rgba(109,187,224,0.24)"),
    "lake-haze": ("rgba(11,92,125,0.10)", "rgba(109,187,224,0.12)"),
    "copper-veil": ("rgba(178,72,11,0.15)", "rgba(243,154,95,0.22)"),
    "copper-haze": ("rgba(178,72,11,0.09)", "rgba(243,154,95,0.12)"),
    "violet-veil": ("rgba(91,63,155,0.13)", "rgba(185,163,245,0.22)"),
    "slate-veil": ("rgba(97,108,118,0.16)", "rgba(143,155,166,0.24)"),
    "paper-veil": ("rgba(251,250,246,0.62)", "rgba(20,25,29,0.62)"),
}

TEXT_ROLES: tuple[Role, ...] = (
    "ink",
    "muted",
    "lake",
    "copper",
    "violet",
    "moss",
    "ochre",
    "madder",
    "slate",
)


def light(role: Role) -> str:
    """Return the colour of a role on light paper; the page swaps it where the reader's is dark."""
    return PALETTE[role][0]


def style_variables(scheme: Literal["light", "dark"]) -> str:
    """Return the palette as custom properties of a style sheet.

    Examples
    --------
    >>> style_variables("light").split("; ")[0]
    '--paper: #fbfaf6'
    """
    at = ("light", "dark").index(scheme)
    return "; ".join(f"--{role}: {colours[at]}" for role, colours in PALETTE.items())
