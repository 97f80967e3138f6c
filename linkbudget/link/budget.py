"""The link budget: every gain and loss from transmitter to receiver, signed, line by line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.link.rooms import Room

PLASTIC = "plastic near the antenna"
"""Line of the budget for what plastic parts cost, beside metal or without any."""

_LOSSES = (
    "cable",
    "mismatch",
    "plastic",
    "body",
    "polarisation",
    "far_mismatch",
    "far_cable",
    "desensitisation",
)
LOPSIDED = "median of the draws less typical values"
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
    desensitisation : Quantity
        By how much noise from outside raises that level [dB], zero or more.

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
    desensitisation: Quantity = field(default_factory=no_loss)

    def __post_init__(self) -> None:
        """Refuse a loss that would strengthen the signal."""
        for name in _LOSSES:
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

    def signed_terms(self) -> list[tuple[str, Quantity]]:
        """Return the losses as lines of a budget."""
        path = ("metal: toward the far end", self.path.negated())
        return (
            [path]
            if self.detuning is None
            else [("metal: at the antenna's port", self.detuning.negated()), path]
        )


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
    desensitisation : Quantity
        By how much noise from outside raises that level [dB].
    above_sensitivity : Quantity
        `received` less `sensitivity` and `desensitisation` [dB].
    fade_allowance : Quantity
        What fading may take at the wanted reliability [dB].
    lopsided : Quantity
        By how much bands wider on one side, of what the receiver needs, move the median margin off
        the typical values [dB]; 0 before anything is drawn.
    margin : Quantity
        `above_sensitivity` less `fade_allowance` plus `lopsided` [dB]; positive is the good side.
    """

    distance_m: float
    lines: tuple[BudgetLine, ...]
    received: Quantity
    sensitivity: Quantity
    desensitisation: Quantity
    above_sensitivity: Quantity
    fade_allowance: Quantity
    lopsided: Quantity
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
    room: Room,
    distance_m: float,
    fade_allowance: Quantity,
    metal: MetalLoss | None = None,
) -> LinkBudget:
    """Draw up the budget of a link.

    Parameters
    ----------
    inputs : LinkInputs
        Both ends of the link.
    room : Room
        Between them.
    distance_m : float
        Distance [m].
    fade_allowance : Quantity
        What fading may take [dB], see ``FadeLaw``.
    metal : MetalLoss, optional
        What the metal costs; without it the budget has no lines for metal.

    Returns
    -------
    LinkBudget

    Raises
    ------
    OutOfRange
        Where the law of the room does not hold at the distance.
    """
    lines = _lines(inputs, room, distance_m, metal)
    received = combine([line.value for line in lines], "dBm", "sum of the lines of the budget")
    needed = (inputs.sensitivity.negated(), inputs.desensitisation.negated())
    above = combine((received, *needed), "dB", "received level less what the receiver needs")
    margin = combine(
        (above, fade_allowance.negated()), "dB", "level above sensitivity less fade allowance"
    )
    return LinkBudget(
        distance_m,
        lines,
        received,
        inputs.sensitivity,
        inputs.desensitisation,
        above,
        fade_allowance,
        Quantity(0.0, "dB", "computed", source=LOPSIDED),
        margin,
    )


def _lines(
    inputs: LinkInputs, room: Room, distance_m: float, metal: MetalLoss | None
) -> tuple[BudgetLine, ...]:
    near, far = near_terms(inputs), far_terms(inputs)
    between = [(f"transmission loss, {room.name}", room.loss_at(distance_m).negated())]
    between += [(barrier.name, barrier.loss.negated()) for barrier in room.barriers]
    losses = metal.signed_terms() if metal is not None else []
    return tuple(BudgetLine(*term) for term in (*near, *losses, *between, *far))


def near_terms(inputs: LinkInputs) -> list[tuple[str, Quantity]]:
    """Return what the product brings, signed, in the order of the budget."""
    terms = [
        ("conducted power", inputs.conducted_power),
        ("cable loss (product)", inputs.cable.negated()),
        ("mismatch loss (product)", inputs.mismatch.negated()),
        ("antenna gain (product)", inputs.antenna_gain),
    ]
    return terms if inputs.plastic is None else [*terms, (PLASTIC, inputs.plastic.negated())]


def far_terms(inputs: LinkInputs) -> list[tuple[str, Quantity]]:
    """Return what the way and the far end bring, signed, in the order of the budget."""
    return [
        ("body loss", inputs.body.negated()),
        ("polarisation loss", inputs.polarisation.negated()),
        ("antenna gain (far end)", inputs.far_gain),
        ("mismatch loss (far end)", inputs.far_mismatch.negated()),
        ("cable loss (far end)", inputs.far_cable.negated()),
    ]
