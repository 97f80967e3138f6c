"""The link budget: every gain and loss from transmitter to receiver, signed, line by line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from linkbudget.core.errors import InputError, MissingData
from linkbudget.core.quantity import Quantity
from linkbudget.physics.fading import log_normal_margin_db, rayleigh_margin_db
from linkbudget.physics.propagation import free_space_loss_db

FadingModel = Literal["none", "rayleigh", "log-normal"]

PLASTIC = "plastic near the antenna"
"""Line of the budget for what plastic parts cost, beside metal or without any."""

_RSS = "bands of all lines combined by root sum of squares, low and high apart"


def no_loss() -> Quantity:
    """Return a loss of zero that nobody stated, so that the budget shows it as assumed."""
    return Quantity(0.0, "dB", "assumed", source="not stated: taken as no loss")


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkInputs:
    """What a link has, apart from distance, fading and metal.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    conducted_power : Quantity
        Power at the transmitter's port [dBm].
    cable, mismatch : Quantity
        Losses between that port and the product's antenna [dB], zero or more.
    antenna_gain : Quantity
        Gain of the product's antenna toward the far end, efficiency in it, mismatch not [dBi].
    plastic : Quantity or None
        Loss by plastic parts near that antenna, with and without metal [dB]; None: no line.
    body : Quantity
        Loss by a person or hand near either end [dB].
    polarisation : Quantity
        Loss between the two polarisations [dB].
    far_gain : Quantity
        Gain of the antenna at the far end [dBi].
    far_mismatch, far_cable : Quantity
        Losses at the far end [dB].
    sensitivity : Quantity
        Level that the receiver needs at its port [dBm].

    Raises
    ------
    InputError
        Where a loss is negative.
    """

    frequency_hz: float
    conducted_power: Quantity
    cable: Quantity = field(default_factory=no_loss)
    mismatch: Quantity = field(default_factory=no_loss)
    antenna_gain: Quantity
    plastic: Quantity | None = None
    body: Quantity = field(default_factory=no_loss)
    polarisation: Quantity = field(default_factory=no_loss)
    far_gain: Quantity
    far_mismatch: Quantity = field(default_factory=no_loss)
    far_cable: Quantity = field(default_factory=no_loss)
    sensitivity: Quantity

    def __post_init__(self) -> None:
        """Refuse a loss that would strengthen the signal."""
        losses = ("cable", "mismatch", "plastic", "body", "polarisation", "far_mismatch")
        for name in (*losses, "far_cable"):
            loss: Quantity | None = getattr(self, name)
            if loss is not None and loss.value < 0.0:
                mend = "Write a loss as a positive number."
                raise InputError(f"a loss of {loss.value:g} dB", "zero or more", mend, field=name)


@dataclass(frozen=True, slots=True)
class MetalLoss:
    """What the metal costs toward the far end, in the two lines that the budget shows.

    Parameters
    ----------
    detuning : Quantity or None
        Extra loss at the antenna's own port [dB]; None where the path contains it.
    path : Quantity
        Loss on the way out, toward the far end [dB]; may be negative, since a plate can add gain.
    """

    detuning: Quantity | None
    path: Quantity

    def total(self) -> Quantity:
        """Return both losses together [dB], bands combined as independent."""
        if self.detuning is None:
            return self.path
        return combine((self.detuning, self.path), "dB", "at the antenna's port, and path")


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One line: a power [dBm], or a change with its sign, gain + and loss - [dB, dBi]."""

    name: str
    value: Quantity


@dataclass(frozen=True, slots=True)
class LinkBudget:
    """The budget of one link at one distance.

    Parameters
    ----------
    distance_m : float
        Distance [m].
    lines : tuple of BudgetLine
        From transmitter to receiver; their values add up to `received`.
    received : Quantity
        Mean level at the receiver's port [dBm].
    sensitivity : Quantity
        Level that it needs [dBm].
    above_sensitivity : Quantity
        `received` less `sensitivity` [dB].
    fade_allowance : Quantity
        What fading may take at the wanted reliability [dB].
    margin : Quantity
        `above_sensitivity` less `fade_allowance` [dB]; positive is the good side.
    """

    distance_m: float
    lines: tuple[BudgetLine, ...]
    received: Quantity
    sensitivity: Quantity
    above_sensitivity: Quantity
    fade_allowance: Quantity
    margin: Quantity


def combine(terms: Sequence[Quantity], unit: str, source: str) -> Quantity:
    """Add signed terms; their bands combine by root sum of squares.

    Parameters
    ----------
    terms : sequence of Quantity
        Signed values in decibel units, independent of each other.
    unit : str
        Unit of the sum.
    source : str
        What the sum is.

    Returns
    -------
    Quantity
        The sum, with a band where any term has one.

    Notes
    -----
    The half-band below and the half-band above are combined apart, so a lopsided term stays
    lopsided. Contributions are taken as independent and at one coverage; where typical values
    carry a plain low-to-high estimate, so does the result.

    References
    ----------
    JCGM 100:2008, Guide to the expression of uncertainty in measurement, equation (10).

    Examples
    --------
    >>> power = Quantity(4.0, "dBm", "stated", 3.0, 5.0)
    >>> loss = Quantity(60.0, "dB", "computed", 60.0, 62.0)
    >>> print(combine((power, loss.negated()), "dBm", "level"))
    -56.0 dBm (-58.2 to -55.0)
    """
    value = math.fsum(term.value for term in terms)
    if all(term.low is None for term in terms):
        return Quantity(value, unit, "computed", source=source)
    below = math.hypot(*(term.value - term.band[0] for term in terms))
    above = math.hypot(*(term.band[1] - term.value for term in terms))
    return Quantity(value, unit, "computed", value - below, value + above, source, _RSS)


def budget(
    inputs: LinkInputs,
    distance_m: float,
    fade_allowance: Quantity,
    metal: MetalLoss | None = None,
) -> LinkBudget:
    """Draw up the budget of a link in free space.

    Parameters
    ----------
    inputs : LinkInputs
        Both ends of the link.
    distance_m : float
        Distance [m].
    fade_allowance : Quantity
        What fading may take [dB], see ``fading_allowance``.
    metal : MetalLoss, optional
        What the metal costs; without it the budget has no lines for metal.

    Returns
    -------
    LinkBudget

    Raises
    ------
    OutOfRange
        Where the distance lies below wavelength/2 pi.
    """
    lines = _lines(inputs, distance_m, metal)
    received = combine([line.value for line in lines], "dBm", "sum of the lines of the budget")
    above = combine(
        (received, inputs.sensitivity.negated()), "dB", "received level less sensitivity"
    )
    margin = combine(
        (above, fade_allowance.negated()), "dB", "level above sensitivity less fade allowance"
    )
    return LinkBudget(
        distance_m, lines, received, inputs.sensitivity, above, fade_allowance, margin
    )


def _lines(
    inputs: LinkInputs, distance_m: float, metal: MetalLoss | None
) -> tuple[BudgetLine, ...]:
    space = Quantity(
        free_space_loss_db(inputs.frequency_hz, distance_m),
        "dB",
        "computed",
        source="free space, ITU-R P.525",
    )
    signed = [
        ("conducted power", inputs.conducted_power),
        ("cable loss (product)", inputs.cable.negated()),
        ("mismatch loss (product)", inputs.mismatch.negated()),
        ("antenna gain (product)", inputs.antenna_gain),
    ]
    if inputs.plastic is not None:
        signed.append((PLASTIC, inputs.plastic.negated()))
    if metal is not None:
        if metal.detuning is not None:
            signed.append(("metal: at the antenna's port", metal.detuning.negated()))
        signed.append(("metal: toward the far end", metal.path.negated()))
    signed += [
        ("free-space transmission loss", space.negated()),
        ("body loss", inputs.body.negated()),
        ("polarisation loss", inputs.polarisation.negated()),
        ("antenna gain (far end)", inputs.far_gain),
        ("mismatch loss (far end)", inputs.far_mismatch.negated()),
        ("cable loss (far end)", inputs.far_cable.negated()),
    ]
    return tuple(BudgetLine(name, value) for name, value in signed)


def fading_allowance(
    model: FadingModel, reliability: float | None = None, sigma_db: float | None = None
) -> Quantity:
    """Return what fading may take from the mean level at a wanted reliability.

    Parameters
    ----------
    model : {"none", "rayleigh", "log-normal"}
        Kind of fading.
    reliability : float, optional
        Share of time or places [1]; needed except for "none".
    sigma_db : float, optional
        Standard deviation, needed for "log-normal" [dB].

    Returns
    -------
    Quantity
        Allowance [dB], zero or more: a low reliability earns no bonus.

    Raises
    ------
    MissingData
        Where the model needs a value that is not given.
    OutOfRange
        Where the reliability is not between 0 and 1.

    Examples
    --------
    >>> print(fading_allowance("rayleigh", 0.99))
    20.0 dB
    """
    if model == "none":
        return Quantity(0.0, "dB", "stated", source="no fading")
    if reliability is None:
        raise MissingData("no reliability", "the share of time or places that must work")
    if model == "rayleigh":
        margin_db, reference = rayleigh_margin_db(reliability), "relative to the mean power"
    elif sigma_db is None:
        raise MissingData("no standard deviation", "the spread of the level in dB")
    else:
        margin_db = log_normal_margin_db(reliability, sigma_db)
        reference = f"relative to the median level, standard deviation {sigma_db:g} dB"
    source = f"{model} fading, {reliability:.6g} of time or places, {reference}"
    return Quantity(max(0.0, margin_db), "dB", "computed", source=source)
