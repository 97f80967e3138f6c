"""A pre-scan in memory: frequencies, levels, their unit, and the record that makes it usable."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from linkbudget.core.decibels import FloatArray

Port = Literal["enclosure", "AC mains"]
Detector = Literal["peak", "quasi-peak", "average"]
Transducer = Literal["antenna", "line-impedance network", "current probe", "near-field probe"]
LevelUnit = Literal["dBm", "dBuV", "dBuV/m", "dBuA"]


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing the reader found or assumed while it read a file.

    Parameters
    ----------
    what : str
        "delimiter", "decimal mark", "header", "frequency unit", "level unit", "order", ...
    found : str
        What was taken.
    assumed : bool
        True where the file does not say it and the reader inferred it.
    """

    what: str
    found: str
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Trace:
    """What a file holds: rising frequencies and one level for each.

    Parameters
    ----------
    frequency_hz : array, shape (n,)
        Rising; equal frequencies are merged to their highest level [Hz].
    level_db : array, shape (n,)
        Level in `unit`.
    unit : {"dBm", "dBuV", "dBuV/m", "dBuA"}
    file : str
        As the user named it.
    readings : tuple of Reading
        What was found and assumed.
    blank_rows : int
        Rows whose level was stated as missing (NaN, ---); they are gaps, not zeros.
    """

    frequency_hz: FloatArray
    level_db: FloatArray
    unit: LevelUnit
    file: str
    readings: tuple[Reading, ...] = ()
    blank_rows: int = 0


@dataclass(frozen=True, slots=True)
class ScanRecord:
    """How a scan was taken. ``None`` and "" mean that nobody said.

    Parameters
    ----------
    port, transducer, detector
        What was measured, with what, and how it was weighted.
    bandwidth_hz, step_hz : float or None
        Resolution bandwidth and frequency step [Hz].
    distance_m, antenna_height_m : float or None
        Antenna to product, and antenna above floor [m].
    uncertainty_db : float or None
        Expanded uncertainty of the level as the user states it, k = 2 [dB].
    swept : bool
        Whether each point holds the highest level of its whole step; matters where the step is
        larger than the bandwidth.
    variant : str
        Name of the variant that was scanned; "" for all of them.
    polarisation, turntable, site, mode, channel, supply, conductor, cables, firmware : str
        Free text for the record.
    """

    port: Port
    transducer: Transducer
    detector: Detector | None = None
    bandwidth_hz: float | None = None
    step_hz: float | None = None
    distance_m: float | None = None
    antenna_height_m: float | None = None
    uncertainty_db: float | None = None
    swept: bool = False
    variant: str = ""
    polarisation: str = ""
    turntable: str = ""
    site: str = ""
    mode: str = ""
    channel: str = ""
    supply: str = ""
    conductor: str = ""
    cables: str = ""
    firmware: str = ""


@dataclass(frozen=True, slots=True)
class Scan:
    """A trace in the unit of its limit lines, after all corrections.

    Parameters
    ----------
    name : str
        Short name for tables and legends.
    trace : Trace
        Corrected levels (dBuV/m for the enclosure, dBuV for the mains port).
    record : ScanRecord
    chain : tuple of str
        The corrections applied, in words, in their order.
    """

    name: str
    trace: Trace
    record: ScanRecord
    chain: tuple[str, ...] = field(default=())
