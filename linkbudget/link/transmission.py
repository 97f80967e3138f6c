"""What a transmitter sends, as the radio rules weigh it: power, gain, bandwidth, duty cycle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.link.budget import combine
from linkbudget.physics.validity import require_positive

Technology = Literal["frequency hopping", "digital modulation", ""]


@dataclass(frozen=True, slots=True, kw_only=True)
class Transmission:
    """A transmitter in its housing.

    Parameters
    ----------
    band_hz : tuple of float
        Lowest and highest channel centre [Hz].
    conducted_power : Quantity
        Power at the transmitter's port, mean during the burst [dBm].
    peak_gain : Quantity
        Gain of the antenna in its best direction, without metal [dBi].
    metal_gain : Quantity or None
        How much the metal may raise that gain [dB]; None where nobody worked it out.
    cable_loss : Quantity
        Loss between port and antenna [dB], zero or more.
    channel_bandwidth_hz : float
        Occupied bandwidth of a channel [Hz].
    technology : {"frequency hopping", "digital modulation", ""}
        "" where nobody stated it.
    channels : int or None
        Number of channels that do not overlap.
    duty_cycle : float or None
        Share of time that it sends [1], above 0 up to 1, in the busiest stretch that a rule weighs.
    separation_m : float or None
        Least distance between antenna and body, for exposure [m].
    peak_over_mean : Quantity or None
        Peak of the envelope over its mean during the burst [dB]; 0 for a constant envelope.

    Raises
    ------
    InputError
        Where a value cannot be; the field is named.
    """

    band_hz: tuple[float, float]
    conducted_power: Quantity
    peak_gain: Quantity
    metal_gain: Quantity | None
    cable_loss: Quantity
    channel_bandwidth_hz: float
    technology: Technology = ""
    channels: int | None = None
    duty_cycle: float | None = None
    separation_m: float | None = None
    peak_over_mean: Quantity | None = None

    def __post_init__(self) -> None:
        """Refuse a transmitter that cannot be."""
        low_hz, high_hz = self.band_hz
        require_positive("lowest frequency (Hz)", low_hz)
        require_positive("highest frequency (Hz)", high_hz)
        require_positive("channel bandwidth (Hz)", self.channel_bandwidth_hz)
        known = ", ".join(repr(word) for word in get_args(Technology))
        loss_db, crest = self.cable_loss.value, self.peak_over_mean
        duty, distance_m, channels = self.duty_cycle, self.separation_m, self.channels
        checks = (
            ("band_hz", low_hz <= high_hz, f"{low_hz:g} to {high_hz:g} Hz", "rising band edges"),
            ("cable_loss", loss_db >= 0.0, f"a loss of {loss_db:g} dB", "zero or more"),
            ("technology", self.technology in get_args(Technology), f"{self.technology!r}", known),
            ("channels", channels is None or channels >= 1, f"{channels} channels", "1 or more"),
            ("duty_cycle", duty is None or 0.0 < duty <= 1.0, f"{duty}", "above 0 and up to 1"),
            (
                "separation_m",
                distance_m is None or distance_m >= 0.0,
                f"{distance_m} m",
                "0 or more",
            ),
            ("peak_over_mean", crest is None or crest.value >= 0.0, f"{crest}", "0 dB or more"),
        )
        for field, holds, found, expected in checks:
            if not holds:
                raise InputError(found, expected, field=field)


def largest_gain(transmission: Transmission) -> Quantity:
    """Return the gain in the best direction, with what the metal may add to it [dBi]."""
    metal = transmission.metal_gain
    if metal is None:
        return transmission.peak_gain
    source = "peak gain of the antenna and the largest rise by the metal"
    return combine((transmission.peak_gain, metal), "dBi", source)


def eirp(transmission: Transmission) -> Quantity:
    """Return the radiated power in the strongest direction.

    Parameters
    ----------
    transmission : Transmission

    Returns
    -------
    Quantity
        Equivalent isotropically radiated power, mean during the burst [dBm]. Before a legal limit
        its high end counts.

    Notes
    -----
    Conducted power less cable loss plus peak gain plus the largest gain that the metal adds. A
    mismatch is not taken off: no rule grants it, and the metal may improve the match.

    Examples
    --------
    >>> def stated(value, unit):
    ...     return Quantity(value, unit, "stated")
    >>> plate = Quantity(3.0, "dB", "computed", 0.0, 6.0)
    >>> radio = Transmission(
    ...     band_hz=(2.402e9, 2.480e9), conducted_power=stated(4.0, "dBm"),
    ...     peak_gain=stated(2.0, "dBi"), metal_gain=plate, cable_loss=stated(0.5, "dB"),
    ...     channel_bandwidth_hz=2e6)
    >>> print(eirp(radio))
    8.5 dBm (5.5 to 11.5)
    """
    power, cable = transmission.conducted_power, transmission.cable_loss
    gain, metal = transmission.peak_gain, transmission.metal_gain
    parts = [power, cable.negated(), gain] + ([metal] if metal is not None else [])
    source = (
        f"conducted power ({power.kind}), less cable loss ({cable.kind}), plus peak gain"
        f" ({gain.kind}), "
        + (f"plus the largest gain by the metal ({metal.kind})" if metal else "no gain by metal")
    )
    return combine(parts, "dBm", source)
