"""Invent the pre-scans of the demo scenarios. Nothing here was ever measured.

Run ``python scenarios/invent_scans.py`` to write all files again; with a folder as argument they
are written there. The generator is seeded and its stream is frozen by NumPy's policy for
``RandomState``, so that the same bytes come out everywhere.

How a trace is made: field or port level = noise of the receiver, clock lines shaped by the
resolution bandwidth, humps of switching converters and broadcast stations, added as powers. What
the analyser shows is that level without the antenna factor, the cables and the attenuator, and
with the gain of the preamplifier. The scenario then names the same corrections.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Table = Sequence[tuple[float, float]]  # MHz, dB

DBM_IN_50_OHM_DBUV = 106.99  # 0 dBm in 50 ohm

BROADBAND_FACTOR: Table = (
    *((30, 18.4), (35, 15.6), (40, 13.2), (50, 9.3), (60, 7.5), (70, 7.0), (80, 7.6), (100, 9.9)),
    *((120, 12.1), (140, 11.6), (160, 10.6), (180, 10.0), (200, 10.4), (250, 12.2), (300, 13.6)),
    *((400, 16.2), (500, 18.0), (600, 19.8), (700, 21.0), (800, 22.3), (900, 23.3), (1000, 24.4)),
)
BICONICAL_FACTOR: Table = (
    *((30, 19.1), (40, 14.0), (50, 10.4), (60, 8.3), (80, 8.0), (100, 10.6), (150, 12.0)),
    *((200, 11.2), (300, 14.2), (400, 16.6), (500, 18.7), (700, 21.6), (1000, 25.0)),
)
HORN_FACTOR: Table = (
    *((1000, 24.2), (1500, 25.6), (2000, 27.7), (2500, 28.7), (3000, 30.4)),
    *((4000, 32.9), (5000, 34.1), (6000, 35.3)),
)
CABLE_BELOW_1_GHZ: Table = ((30, 0.3), (100, 0.6), (200, 0.9), (500, 1.5), (1000, 2.2))
CABLE_ABOVE_1_GHZ: Table = ((1000, 1.6), (2000, 2.4), (3000, 3.0), (4000, 3.5), (6000, 4.5))
LONG_CABLE: Table = ((30, 0.5), (100, 1.0), (300, 1.8), (1000, 3.5))
PREAMPLIFIER_ABOVE_1_GHZ: Table = (
    (1000, 34.1),
    (2000, 33.6),
    (3000, 33.0),
    (4500, 32.1),
    (6000, 30.9),
)
NETWORK_FACTOR: Table = ((0.15, 0.3), (0.5, 0.1), (5, 0.1), (30, 0.4))

PREAMPLIFIER_BELOW_1_GHZ_DB = 20.0
LIMITER_DB = 10.0


@dataclass(frozen=True)
class Hump:
    """Broadband noise of a converter: highest level, middle, and width in octaves."""

    level_db: float
    middle_mhz: float
    octaves: float


@dataclass(frozen=True)
class Sweep:
    """A receiver setting: start, stop and step in hertz, bandwidth, and how it weights."""

    start_hz: int
    stop_hz: int
    step_hz: int
    bandwidth_hz: float
    average: bool = False

    @property
    def frequency_hz(self) -> Array:
        """All points, start and stop included."""
        return np.arange(self.start_hz, self.stop_hz + 1, self.step_hz).astype(float)


def at(table: Table, frequency_hz: Array) -> Array:
    """Interpolate a table straight over the logarithm of frequency."""
    mhz, value = np.array(table, dtype=float).T
    return np.interp(np.log10(frequency_hz), np.log10(mhz * 1e6), value)


def weighted_noise(random: np.random.RandomState, size: int, *, average: bool) -> Array:
    """Return noise power against its mean: highest of 30 draws for peak, mean of 30 for average."""
    draws = 30
    if average:
        return np.mean(-np.log(1.0 - random.random_sample((size, draws))), axis=1)
    return -np.log(1.0 - random.random_sample(size) ** (1.0 / draws))


def line_powers(frequency_hz: Array, lines: Table, bandwidth_hz: float) -> Array:
    """Return the power of clock lines behind a Gaussian filter with that 6 dB bandwidth."""
    power = np.zeros_like(frequency_hz)
    for mhz, level_db in lines:
        offset = (frequency_hz - mhz * 1e6) / (bandwidth_hz / 2.0)
        near = np.abs(offset) < 4.0
        power[near] += 10.0 ** ((level_db - 6.02 * offset[near] ** 2) / 10.0)
    return power


def hump_powers(frequency_hz: Array, humps: Iterable[Hump]) -> Array:
    """Return the mean power of broadband humps, bell-shaped over octaves."""
    power = np.zeros_like(frequency_hz)
    for hump in humps:
        octaves = np.log2(frequency_hz / (hump.middle_mhz * 1e6)) / hump.octaves
        power += 10.0 ** (hump.level_db / 10.0) * np.exp(-0.5 * octaves**2)
    return power


def stations(random: np.random.RandomState, highest_db: float) -> list[tuple[float, float]]:
    """Return broadcast carriers of 88 to 108 MHz as a meeting room lets them in, with sidebands."""
    carriers: list[tuple[float, float]] = []
    for raster in random.choice(np.arange(881, 1079, 3), size=17, replace=False):
        level = highest_db - 12.0 * random.random_sample()
        for offset_mhz, less_db in ((-0.05, 3.0), (0.0, 0.0), (0.05, 3.0)):
            carriers.append((raster / 10.0 + offset_mhz, level - less_db))
    return carriers


def level_db(
    seed: int, sweep: Sweep, noise_db: Array, lines: Table, humps: Sequence[Hump] = ()
) -> Array:
    """Return the level at the antenna or port that the receiver would report.

    ``noise_db`` is the mean noise power in the bandwidth; humps are given for the peak detector
    and lie 11 dB lower in average, for they are trains of pulses.
    """
    random = np.random.RandomState(seed)
    f = sweep.frequency_hz
    noise = 10.0 ** (noise_db / 10.0) * weighted_noise(random, f.size, average=sweep.average)
    rough = weighted_noise(random, f.size, average=sweep.average)
    below_peak = 10.0 ** ((-11.0 if sweep.average else -6.0) / 10.0)
    broadband = hump_powers(f, humps) * below_peak * rough
    return 10.0 * np.log10(noise + broadband + line_powers(f, lines, sweep.bandwidth_hz))


# ---------------------------------------------------------------- label printer

BELOW_1_GHZ = Sweep(30_000_000, 1_000_000_000, 50_000, 120e3)
ABOVE_1_GHZ = Sweep(1_000_000_000, 6_000_000_000, 1_000_000, 1e6)
MAINS = Sweep(150_000, 30_000_000, 4_500, 9e3)

# Crystal of 24 MHz doubled to 48 MHz for the cable interface, and 480 MHz on its fast side. The
# cable hangs down from the table, so vertical leads below 300 MHz.
PRINTER_LINES: dict[str, Table] = {
    "horizontal": (
        *((48.001, 19.5), (72.001, 17.0), (120.002, 23.6), (144.002, 26.2), (168.003, 24.1)),
        *((192.003, 27.4), (216.003, 26.0), (240.004, 38.2), (264.004, 29.0), (288.005, 33.1)),
        *((336.005, 31.7), (384.006, 32.2), (432.007, 30.4), (480.008, 37.3), (528.008, 31.6)),
        *((624.010, 32.8), (720.012, 34.4), (960.015, 37.6)),
    ),
    "vertical": (
        *((48.001, 27.8), (72.001, 25.4), (96.002, 23.0), (120.002, 28.7), (144.002, 30.1)),
        *((168.003, 28.0), (192.003, 31.2), (216.003, 29.6), (240.004, 45.6), (264.004, 31.5)),
        *((288.005, 36.4), (312.005, 30.3), (336.005, 34.2), (384.006, 33.1), (480.008, 35.0)),
        *((528.008, 29.9), (720.012, 33.6), (960.015, 35.8)),
    ),
}
PRINTER_HUMPS = {
    "horizontal": (Hump(19.0, 47.0, 0.45),),
    "vertical": (Hump(27.0, 52.0, 0.4), Hump(17.0, 160.0, 0.3)),
}
# Above 1 GHz: harmonics of the 480 MHz clock, and the printer's own transmitter in the middle of
# its band with its second harmonic. The transmitter is keyed, so its average is far below.
FAST_CLOCK: Table = ((1440.023, 38.5), (1920.031, 36.2), (2400.038, 39.4), (3360.054, 41.0))
TRANSMITTER: Table = (
    *((2438.0, 62.0), (2439.0, 84.0), (2439.5, 91.0), (2440.0, 92.4), (2440.5, 91.0)),
    *((2441.0, 84.0), (2442.0, 62.0), (4879.0, 49.0), (4880.0, 56.5), (4881.0, 49.0)),
)


def field_noise_db(f: Array, at_input_dbuv: float, factor: Table, cable: Table) -> Array:
    """Return the noise of a receiver as the field strength it pretends."""
    return at_input_dbuv + at(factor, f) + at(cable, f)


def printer_below_1_ghz(polarisation: str, seed: int) -> Array:
    """Return what the analyser showed, 30 to 1000 MHz, peak [dBuV]."""
    f = BELOW_1_GHZ.frequency_hz
    air = stations(np.random.RandomState(88), 30.0 if polarisation == "vertical" else 27.0)
    lines = (*PRINTER_LINES[polarisation], *air)
    noise = field_noise_db(f, -1.5, BROADBAND_FACTOR, CABLE_BELOW_1_GHZ)
    field = level_db(seed, BELOW_1_GHZ, noise, lines, PRINTER_HUMPS[polarisation])
    factors = at(BROADBAND_FACTOR, f) + at(CABLE_BELOW_1_GHZ, f)
    return field - factors + PREAMPLIFIER_BELOW_1_GHZ_DB


def printer_above_1_ghz(polarisation: str, seed: int, *, average: bool) -> Array:
    """Return what the analyser showed, 1 to 6 GHz [dBuV]."""
    sweep = Sweep(ABOVE_1_GHZ.start_hz, ABOVE_1_GHZ.stop_hz, 1_000_000, 1e6, average)
    f = sweep.frequency_hz
    weaker = 4.0 if polarisation == "vertical" else 0.0
    keyed = 17.0 if average else 0.0
    lines = (
        *((mhz, level - 0.6 * weaker) for mhz, level in FAST_CLOCK),
        *((mhz, level - weaker - keyed) for mhz, level in TRANSMITTER),
    )
    noise = field_noise_db(f, -3.0, HORN_FACTOR, CABLE_ABOVE_1_GHZ)
    field = level_db(seed, sweep, noise, lines)
    factors = at(HORN_FACTOR, f) + at(CABLE_ABOVE_1_GHZ, f)
    return field - factors + at(PREAMPLIFIER_ABOVE_1_GHZ, f)


def printer_mains(conductor: str, seed: int, *, average: bool) -> Array:
    """Return what the receiver showed at the network, 0.15 to 30 MHz [dBuV]."""
    sweep = Sweep(MAINS.start_hz, MAINS.stop_hz, MAINS.step_hz, 9e3, average)
    f = sweep.frequency_hz
    less = 1.7 if conductor == "neutral" else 0.0
    averaged = 6.5 if average else 0.0  # the load pulses with the print head
    switching = [  # the adapter switches at 65.2 kHz; odd harmonics lead
        (n * 0.0652, 55.0 - 26.0 * np.log10(n / 3.0) - (0.0 if n % 2 else 5.0) - less - averaged)
        for n in range(3, 60)
    ]
    humps = (Hump(37.0 - less, 0.42, 0.5), Hump(43.0 - less, 13.5, 0.35))
    noise = 16.0 + 5.0 * np.exp(-(f - 150e3) / 400e3)
    port = level_db(seed, sweep, noise, switching, humps)
    return port - at(NETWORK_FACTOR, f) - LIMITER_DB


# ---------------------------------------------------------------- cue light

CUE_SWEEP = Sweep(30_000_000, 1_000_000_000, 100_000, 120e3)
CUE_LINES: dict[str, Table] = {
    "horizontal": (
        *((32.0, 28.0), (64.0, 24.2), (128.0, 29.4), (160.0, 27.0), (192.0, 30.2), (256.0, 33.7)),
        *((320.0, 31.9), (384.0, 35.5), (512.0, 36.1), (640.0, 38.8), (832.0, 41.2), (896.0, 42.0)),
    ),
    "vertical": (
        *((32.0, 33.6), (64.0, 30.0), (96.0, 27.5), (128.0, 31.8), (160.0, 30.4), (192.0, 31.1)),
        *((256.0, 32.0), (384.0, 34.0), (512.0, 38.4), (640.0, 40.9), (832.0, 39.0)),
    ),
}
CUE_HUMPS = {
    "horizontal": (Hump(27.0, 40.0, 0.35),),
    "vertical": (Hump(34.0, 38.0, 0.4),),
}


def cue_light_below_1_ghz(polarisation: str, seed: int) -> Array:
    """Return what the analyser showed, 30 to 1000 MHz, peak [dBm], no preamplifier."""
    f = CUE_SWEEP.frequency_hz
    noise = field_noise_db(f, 4.0, BICONICAL_FACTOR, LONG_CABLE)
    lines = (*CUE_LINES[polarisation], *stations(np.random.RandomState(107), 33.0))
    field = level_db(seed, CUE_SWEEP, noise, lines, CUE_HUMPS[polarisation])
    return field - at(BICONICAL_FACTOR, f) - at(LONG_CABLE, f) - DBM_IN_50_OHM_DBUV


# ---------------------------------------------------------------- files


def table_text(table: Table, what: str, unit: str, note: str) -> str:
    """Return a correction table as the scenario can read it."""
    rows = "".join(f"{mhz:g},{value:.1f}\n" for mhz, value in table)
    return f"# Invented for a demonstration: {note}\nfrequency (MHz),{what} ({unit})\n{rows}"


def commented(notes: Sequence[str], heading: str, rows: Iterable[str]) -> str:
    """Return a file with notes behind a comment mark."""
    return "".join(f"# {note}\n" for note in notes) + heading + "\n" + "\n".join(rows) + "\n"


def printer_radiated_file(polarisation: str, seed: int) -> str:
    """Comma, point, megahertz; notes behind a comment mark."""
    notes = (
        "Invented data for a demonstration; nothing was measured",
        f"Label printer, prototype 3, broadband antenna {polarisation}, 3 m, 1 m high",
        "Meeting room, tables pushed aside; turned in steps of 45 deg, maximum kept",
        "Peak, 120 kHz, 50 kHz steps, 20 ms per step; preamplifier on",
    )
    level = printer_below_1_ghz(polarisation, seed)
    pairs = zip(BELOW_1_GHZ.frequency_hz, level, strict=True)
    rows = (f"{f / 1e6:.2f},{value:.2f}" for f, value in pairs)
    return commented(notes, "Frequency (MHz),Level (dBuV)", rows)


def printer_above_file(polarisation: str, seed: int) -> str:
    """Comma, point, hertz, two levels; notes as keys and values."""
    peak = printer_above_1_ghz(polarisation, seed, average=False)
    mean = np.minimum(printer_above_1_ghz(polarisation, seed + 1, average=True), peak)
    notes = (
        "Remark,Invented data for a demonstration; nothing was measured",
        f"Device,Label printer prototype 3; horn {polarisation}; 3 m",
        "Mode,printing; radio on its middle channel",
        "Receiver,1 MHz bandwidth; 1 MHz step; peak and average",
    )
    triples = zip(ABOVE_1_GHZ.frequency_hz, peak, mean, strict=True)
    rows = (f"{f:.0f},{high:.2f},{low:.2f}" for f, high, low in triples)
    return "\n".join((*notes, "", "Frequency [Hz],Peak [dBuV],Average [dBuV]", *rows)) + "\n"


def printer_mains_file(conductor: str, seed: int) -> str:
    """Semicolon, decimal comma, megahertz, two levels."""
    peak = printer_mains(conductor, seed, average=False)
    mean = np.minimum(printer_mains(conductor, seed + 1, average=True), peak)
    notes = (
        "Invented data for a demonstration; nothing was measured",
        f"Label printer with adapter, conductor {conductor}",
        "Receiver at the network behind a pulse limiter; bandwidth 9 kHz; step 4,5 kHz",
    )
    triples = zip(MAINS.frequency_hz, peak, mean, strict=True)
    rows = (f"{f / 1e6:.4f};{high:.2f};{low:.2f}".replace(".", ",") for f, high, low in triples)
    return commented(notes, "Frequency (MHz);Peak (dBuV);Average (dBuV)", rows)


def cue_light_file(polarisation: str, seed: int) -> str:
    """Tabs, hertz and dBm, a heading that names neither: the scenario has to."""
    level = cue_light_below_1_ghz(polarisation, seed)
    pairs = zip(CUE_SWEEP.frequency_hz, level, strict=True)
    rows = (f"{f:.0f}\t{value:.1f}" for f, value in pairs)
    notes = (
        "Invented data for a demonstration; nothing was measured",
        f"Cue light receiver, antenna {polarisation}",
    )
    return commented(notes, "freq\tmax hold", rows)


def files() -> dict[str, str]:
    """Return every file of the demos by its path below the folder of the scenarios."""
    loss, factor = "cable loss", "antenna factor"
    printer, cue = "label-printer", "cue-light"
    return {
        f"{printer}/antenna-factor.csv": table_text(
            BROADBAND_FACTOR, factor, "dB/m", "broadband antenna at 3 m"
        ),
        f"{printer}/horn-factor.csv": table_text(HORN_FACTOR, factor, "dB/m", "horn antenna"),
        f"{printer}/cable-below-1-ghz.csv": table_text(CABLE_BELOW_1_GHZ, loss, "dB", "5 m"),
        f"{printer}/cable-above-1-ghz.csv": table_text(CABLE_ABOVE_1_GHZ, loss, "dB", "3 m"),
        f"{printer}/preamplifier-above-1-ghz.csv": table_text(
            PREAMPLIFIER_ABOVE_1_GHZ, "preamplifier gain", "dB", "preamplifier at the horn"
        ),
        f"{printer}/network-factor.csv": table_text(
            NETWORK_FACTOR, "line-impedance network", "dB", "50 uH network"
        ),
        f"{printer}/radiated-horizontal.csv": printer_radiated_file("horizontal", 101),
        f"{printer}/radiated-vertical.csv": printer_radiated_file("vertical", 102),
        f"{printer}/above-1-ghz-horizontal.csv": printer_above_file("horizontal", 111),
        f"{printer}/above-1-ghz-vertical.csv": printer_above_file("vertical", 121),
        f"{printer}/mains-line.csv": printer_mains_file("line", 131),
        f"{printer}/mains-neutral.csv": printer_mains_file("neutral", 141),
        f"{cue}/antenna-factor.csv": table_text(
            BICONICAL_FACTOR, factor, "dB/m", "small biconical antenna"
        ),
        f"{cue}/cable.csv": table_text(LONG_CABLE, loss, "dB", "10 m"),
        f"{cue}/radiated-horizontal.txt": cue_light_file("horizontal", 201),
        f"{cue}/radiated-vertical.txt": cue_light_file("vertical", 202),
    }


def main(folder: Path) -> None:
    """Write all files below a folder."""
    for name, text in files().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode("utf-8"))


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
