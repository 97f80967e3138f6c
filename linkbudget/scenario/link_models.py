"""What a scenario says of the two ends of the link, of its goal, and of what disturbs it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from linkbudget.enclosure.geometry import AntennaKind
from linkbudget.enclosure.geometry import Direction as Along
from linkbudget.enclosure.geometry import FarEnd as Direction
from linkbudget.scenario import fields as f
from linkbudget.scenario import uncertain as u
from linkbudget.scenario.tables import Table

Fading = Literal[
    "none",
    "rayleigh",
    "rice",
    "log-normal",
    "rayleigh and log-normal",
    "rice and log-normal",
]


class Radio(Table):
    """A radio, from its data sheet."""

    description: f.Text | None = Field(None, description="Which radio, in words.")
    technology: f.Text | None = Field(None, description="Air interface, such as Bluetooth LE.")
    band: tuple[f.Frequency, f.Frequency] = Field(
        description="Lowest and highest channel centre.", examples=[["2.402 GHz", "2.480 GHz"]]
    )
    allocated_band: tuple[f.Frequency, f.Frequency] | None = Field(
        None,
        description="Band that the radio rules allot; emissions inside it are the radio's own.",
        examples=[["2.4 GHz", "2.4835 GHz"]],
    )
    channels: f.Count | None = Field(None, description="Number of channels.", examples=[40])
    bandwidth: f.Bandwidth = Field(
        description="Occupied bandwidth, taken as the receiver's bandwidth too.",
        examples=["2 MHz"],
    )
    phy_rate: f.BitRate | None = Field(None, description="Bit rate on the air.")
    conducted_power: u.PowerLevel = Field(description="Output power at the antenna port.")
    sensitivity: u.Sensitivity | None = Field(
        None, description="Weakest level that is still received; or noise_figure and required_snr."
    )
    noise_figure: u.Loss | None = Field(
        None, description="Noise figure of the receiver.", examples=["6 dB"]
    )
    required_snr: u.Ratio | None = Field(
        None, description="Signal to noise ratio that the demodulator needs."
    )
    modulation: Literal["frequency hopping", "digital modulation"] | None = Field(
        None, description="By which of the two the radio rules weigh it. Left out: cannot be told."
    )
    hopping: f.Flag | None = Field(
        None,
        description="Whether each try takes another channel. Left out: as modulation says.",
    )
    retry_interval: f.Time | None = Field(
        None, description="From one try to the next.", examples=["4 ms"]
    )
    duty_cycle: f.Activity | None = Field(
        None,
        description="Share of time in which it sends, in the busiest stretch that a rule weighs."
        " Left out: it counts as sending all the time.",
        examples=["5 %"],
    )
    peak_over_mean: u.Loss | None = Field(
        None,
        description="Peak of the envelope over its mean while it sends; 0 dB for a constant one.",
        examples=["0 dB"],
    )


class Antenna(Table):
    """An antenna and the cable to its radio."""

    description: f.Text | None = Field(None, description="Which antenna, in words.")
    gain: u.Gain | None = Field(
        None, description="Peak gain in free space, without mismatch.", examples=["1.5 dBi"]
    )
    efficiency: u.Efficiency | None = Field(
        None, description="Radiated over accepted power, without mismatch."
    )
    gain_toward: u.Gain | None = Field(
        None,
        description="Gain toward the other end, efficiency in it and mismatch not, where that"
        " direction is known; it goes before gain and efficiency.",
        examples=[["-6 dBi", "6 dBi"]],
    )
    return_loss: u.ReturnLoss | None = Field(
        None,
        description="Worst return loss over the band, a positive number, without the metal: what"
        " the metal does to it is computed; or touchstone.",
    )
    touchstone: f.Text | None = Field(
        None,
        description="Touchstone file (.s1p) of the antenna port, measured without the metal,"
        " beside the scenario.",
    )
    polarisation: Literal["linear", "circular", "unknown"] | None = Field(
        None, description="Polarisation of the antenna."
    )
    cable_loss: u.Loss | None = Field(
        None, description="Loss between radio and antenna.", examples=["0.5 dB"]
    )


class OwnAntenna(Antenna):
    """The product's antenna: as any antenna, and as the field solver needs it."""

    kind: AntennaKind | None = Field(
        None, description="What it is. Left out: a half-wave dipole stands in for it."
    )
    along: Along | None = Field(
        None,
        description="Direction of its radiating part, along the metal's length or width, or"
        " upright. Left out: along the length.",
    )
    length: f.Length | None = Field(
        None, description="Of its radiating part. Left out: resonant in free space."
    )


class FarEnd(Antenna):
    """The other end of the link."""

    where: Direction | None = Field(
        None, description="Where it is, seen from the metal lying flat. Left out: anywhere."
    )
    polarisation_angle: u.Angle | None = Field(
        None,
        description="Angle between the two linear antennas, 0 deg to 90 deg; beyond 80 deg the"
        " antennas' own impurity counts.",
    )
    body_loss: u.Loss | None = Field(
        None, description="Loss by people and furniture at this end.", examples=["3 dB"]
    )
    sensitivity: u.Sensitivity | None = Field(
        None, description="Of the far receiver, where it is not the product's own kind of radio."
    )


class Goal(Table):
    """What the link has to do."""

    distance: f.Distance = Field(
        description="Distance that the link must cover.", examples=["10 m"]
    )
    reliability: f.Reliability = Field(
        description="Share of time or places in which it must work, 50 % to 99.999 %."
    )
    fading: Fading = Field(
        description="How the level varies: not at all, by many echoes (rayleigh), by echoes beside"
        " a direct ray (rice), by shadowing (log-normal), or by both."
    )
    rice_factor: u.RiceFactor | None = Field(
        None,
        description="Direct power over that of the echoes, for rice, -30 dB to 30 dB.",
        examples=["6 dB"],
    )
    shadowing_sigma: u.Sigma | None = Field(
        None,
        description="Standard deviation of shadowing, for log-normal, at most 20 dB. Left out: that"
        " of the room.",
    )
    counts: Literal["time", "places"] | None = Field(
        None, description="What the reliability is a share of. Left out: either."
    )
    latency: f.Time | None = Field(
        None, description="Within which a report has to arrive.", examples=["30 ms"]
    )
    body_distance: f.Length | None = Field(
        None,
        description="Least distance between antenna and body in use, for the rules on exposure.",
        examples=["20 mm"],
    )


class _Interferer(Table):
    activity: f.Activity | None = Field(
        None, description="Share of the time in which it disturbs. Left out: all the time."
    )


class WirelessLan(_Interferer):
    """A neighbouring wireless LAN."""

    kind: Literal["wireless LAN"] = Field(description="What disturbs the receiver.")
    activity: f.Activity = Field(description="Share of the time in which it sends.")
    distance: f.Distance = Field(description="From the receiver, in free space.")
    radiated_power: u.PowerLevel = Field(
        description="Isotropically radiated power, walls taken off.", examples=["20 dBm"]
    )
    frequency: f.Frequency | None = Field(
        None, description="Middle of its channel. Left out: the middle of the radio's band."
    )
    rejection: u.Loss | None = Field(
        None,
        description="By how much the receiver weakens what lies beside its channel. Left out: a"
        " typical one.",
        examples=["30 dB"],
    )


class UsbPort(_Interferer):
    """A fast USB port in use beside the receiver; its noise is a practice value."""

    kind: Literal["USB port"] = Field(description="What disturbs the receiver.")


class NoiseRise(_Interferer):
    """A rise of the receiver's noise that somebody measured or knows."""

    kind: Literal["noise rise"] = Field(description="What disturbs the receiver.")
    rise: u.Loss = Field(
        description="By how much the noise rises, and so the sensitivity falls.",
        examples=["3 dB"],
    )


Interference = Annotated[WirelessLan | UsbPort | NoiseRise, Field(discriminator="kind")]


class Clock(Table):
    """A clock inside the product."""

    name: f.Text = Field(description="Which clock.")
    frequency: f.Frequency = Field(description="Its nominal frequency.", examples=["48 MHz"])
    tolerance: f.Tolerance | None = Field(
        None, description="To either side, spread spectrum in it. Left out: 50 ppm."
    )
