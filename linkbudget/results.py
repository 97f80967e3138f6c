"""Every answer of a study with its assumptions, cautions and sources, frozen, ready to print."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.quantity import Quantity
from linkbudget.core.sources import Source
from linkbudget.core.uncertainty import Estimate
from linkbudget.decision.booking import Advice
from linkbudget.emissions.conformity import LineStanding, ScanAgainstLine, SetApart
from linkbudget.emissions.limits import LimitLine
from linkbudget.emissions.scan import Reading, ScanRecord
from linkbudget.enclosure.box_report import BoxReport
from linkbudget.enclosure.changes import Change
from linkbudget.enclosure.fullwave import FieldComparison
from linkbudget.enclosure.geometry import Box, Scene
from linkbudget.enclosure.measured import MeasuredMetal
from linkbudget.enclosure.paths import MetalEffect
from linkbudget.link.delivery import Delivery
from linkbudget.link.fades import Share
from linkbudget.link.legal_power import PowerRow
from linkbudget.link.reach import LinkComparison
from linkbudget.link.rooms import Room

SCHEMA = "linkbudget/result/1"

DEFERENCE = (
    "This is an estimate from your own data and from common practice. It decides nothing that a"
    " standard or a law decides: an accredited laboratory measures, the published standard sets"
    " the limits, and every value printed here must be checked against the edition in force."
)


@dataclass(frozen=True, slots=True)
class Unstated:
    """Something that the scenario did not say, and what was used instead.

    Parameters
    ----------
    what : str
        The missing fact, in the user's words.
    used : str
        The value that stands in for it.
    kind : {"assumed", "typical"}
    key : str
        The scenario key that would state it.
    moves_db : float or None
        How far the answer may move if the fact turned out otherwise [dB]; None where no number
        can be given.
    why : str
        Where the stand-in comes from.
    """

    what: str
    used: str
    kind: str
    key: str
    moves_db: float | None
    why: str


@dataclass(frozen=True, slots=True)
class Cited:
    """A source and what was taken from it."""

    what: str
    source: Source


@dataclass(frozen=True, slots=True)
class LevelCurve:
    """Received level against distance, for the figure.

    Parameters
    ----------
    distance_m : array, shape (n,)
    without_dbm, with_dbm : array, shape (n,)
        Received level [dBm] without and with the metal; with_dbm is None where there is no metal.
    with_low_dbm, with_high_dbm : array, shape (n,), or None
        Band of the level with the metal [dBm].
    """

    distance_m: FloatArray
    without_dbm: FloatArray
    with_dbm: FloatArray | None
    with_low_dbm: FloatArray | None
    with_high_dbm: FloatArray | None


@dataclass(frozen=True, slots=True)
class FadeAllowances:
    """What the stated reliability costs under each fading law, and which law the scenario chose.

    Parameters
    ----------
    chosen : str
    rayleigh, log_normal : Quantity
        Allowances [dB].
    share : {"time", "places", "time or places"}
        What the reliability is a share of.
    """

    chosen: str
    rayleigh: Quantity
    log_normal: Quantity
    share: Share = "time or places"


@dataclass(frozen=True, slots=True)
class ClockInChannel:
    """A harmonic of a clock inside the product that may lie in a channel of its radio.

    Parameters
    ----------
    clock : str
        Name of the clock.
    harmonic : int
        Which one; 1 is the clock itself.
    frequency_hz, channel_hz : float
        Nominal frequency of the harmonic, and middle of the channel [Hz].
    always : bool
        Whether it lies inside at every tolerance, and not at some alone.
    """

    clock: str
    harmonic: int
    frequency_hz: float
    channel_hz: float
    always: bool


@dataclass(frozen=True, slots=True)
class VariantLink:
    """The radio link of one variant.

    Parameters
    ----------
    variant, radio : str
        Name of the variant, and of its radio in words.
    absent_because : str
        Why there is no link to judge; "" where there is one.
    frequency_hz, wanted_distance_m, reliability : float
        Middle of the band [Hz], required distance [m], share of places [1].
    room : Room or None
        The law between the two ends.
    comparison : LinkComparison or None
        Budgets and reach without and with the metal.
    metal : MetalEffect or None
    fading : FadeAllowances or None
    curve : LevelCurve or None
    notes : tuple of str
    scene : Scene, Box or None
        What stands in the drawing.
    fields : FieldComparison or None
        The antenna with the metal and without, as solved; None where closed forms answer.
    fields_absent : str
        Why they do, and what would sharpen the answer.
    box : BoxReport or None
    measured : MeasuredMetal or None
        The pair of measurements that replaces the estimate.
    changes : tuple of Change
        What would help, best first.
    changes_reach : tuple of Quantity
        What each of them adds to the reach with the metal [m], in the same order.
    power : tuple of PowerRow
        How far the transmitter is from what the radio rules permit.
    clocks : tuple of ClockInChannel
        Harmonics that may disturb its receiver.
    delivery : Delivery or None
        None where no latency and interval are stated.
    """

    variant: str
    radio: str
    absent_because: str = ""
    frequency_hz: float = 0.0
    wanted_distance_m: float = 0.0
    reliability: float = 0.0
    room: Room | None = None
    comparison: LinkComparison | None = None
    metal: MetalEffect | None = None
    fading: FadeAllowances | None = None
    curve: LevelCurve | None = None
    notes: tuple[str, ...] = ()
    scene: Scene | Box | None = None
    fields: FieldComparison | None = None
    fields_absent: str = ""
    box: BoxReport | None = None
    measured: MeasuredMetal | None = None
    changes: tuple[Change, ...] = ()
    changes_reach: tuple[Quantity, ...] = ()
    power: tuple[PowerRow, ...] = ()
    clocks: tuple[ClockInChannel, ...] = ()
    delivery: Delivery | None = None


@dataclass(frozen=True, slots=True)
class ThinTrace:
    """A trace thinned for a figure: the lowest and highest point of each bin stay.

    Parameters
    ----------
    frequency_hz, level_db : array, shape (n,)
    points : int
        How many points the full trace has.
    """

    frequency_hz: FloatArray
    level_db: FloatArray
    points: int


@dataclass(frozen=True, slots=True)
class ScanResult:
    """One scan as read, corrected and compared.

    Parameters
    ----------
    name, file, unit : str
    record : ScanRecord
    readings : tuple of Reading
        What the reader found and assumed in the file.
    chain : tuple of str
        Corrections in their order.
    trace : ThinTrace
    against : tuple of ScanAgainstLine
        One for each line that this scan can be compared with.
    set_apart : tuple of SetApart
        Ranges that radio lines judge.
    refused : str
        Why no line may be drawn over this scan; "" where one may.
    """

    name: str
    file: str
    unit: str
    record: ScanRecord
    readings: tuple[Reading, ...]
    chain: tuple[str, ...]
    trace: ThinTrace
    against: tuple[ScanAgainstLine, ...]
    set_apart: tuple[SetApart, ...]
    refused: str = ""


@dataclass(frozen=True, slots=True)
class VariantEmissions:
    """Where one variant stands against every line of its standard."""

    variant: str
    standings: tuple[LineStanding, ...]


@dataclass(frozen=True, slots=True)
class EmissionsResult:
    """All scans and all lines.

    Parameters
    ----------
    standard, equipment_class : str
        "CISPR 32" and "B"; the standard's name alone where its lines are not held.
    no_line_because : str
        Why no line is drawn; "" where lines are held.
    highest_measured : Quantity or None
        Up to which frequency the standard wants a radiated measurement.
    lines : tuple of LimitLine
    scans : tuple of ScanResult
    variants : tuple of VariantEmissions
    """

    standard: str
    equipment_class: str
    no_line_because: str
    highest_measured: Quantity | None
    lines: tuple[LimitLine, ...]
    scans: tuple[ScanResult, ...]
    variants: tuple[VariantEmissions, ...]


@dataclass(frozen=True, slots=True)
class BookingFacts:
    """What the user said about slots, money and dates; all stated, none computed.

    Parameters
    ----------
    facts : tuple of (str, str)
        Name and value as they are printed.
    miss_costs : str
        What a missed slot costs by the user's own figures; "" where they do not suffice.
    """

    facts: tuple[tuple[str, str], ...] = ()
    miss_costs: str = ""


@dataclass(frozen=True, slots=True)
class Product:
    """Who the report is about."""

    name: str
    description: str
    family: str
    variants: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StudyResult:
    """The whole answer to one scenario.

    Parameters
    ----------
    scenario_file : str
        As the user named it.
    tool_version : str
    product : Product
    links : tuple of VariantLink
        Empty where only emissions were asked for.
    emissions : EmissionsResult or None
    advice : Advice or None
    booking : BookingFacts
    unstated : tuple of Unstated
        Ranked: what moves the answer most comes first.
    sources : tuple of Cited
    cautions : tuple of str
    """

    scenario_file: str
    tool_version: str
    product: Product
    links: tuple[VariantLink, ...]
    emissions: EmissionsResult | None
    advice: Advice | None
    booking: BookingFacts
    unstated: tuple[Unstated, ...]
    sources: tuple[Cited, ...]
    cautions: tuple[str, ...]
    schema: str = SCHEMA
    deference: str = DEFERENCE


@dataclass(frozen=True, slots=True)
class VariedField:
    """A field of the scenario that was varied: its key, and what stands in the file ("" if none).

    Every value is printed in `values`; `numbers` holds them in `unit` where all are numbers in one
    unit, and is empty where they are words.
    """

    key: str
    stated: str
    values: tuple[str, ...]
    numbers: tuple[float, ...] = ()
    unit: str = ""


@dataclass(frozen=True, slots=True)
class VariedLink:
    """The link of one variant at one point, with its metal; all None where it is refused."""

    variant: str
    refused: str = ""
    wanted_distance_m: float | None = None
    reliability: float | None = None
    lost: Quantity | None = None
    received: Quantity | None = None
    margin: Quantity | None = None
    reach: Quantity | None = None
    chance: Estimate | None = None


@dataclass(frozen=True, slots=True)
class VariedPoint:
    """One value of each field, and the links that come of them, one for each variant."""

    values: tuple[str, ...]
    links: tuple[VariedLink, ...]


@dataclass(frozen=True, slots=True)
class VaryResult:
    """The links of a scenario over every value of one field, or of two; the last runs fastest."""

    scenario_file: str
    tool_version: str
    product: str
    fields: tuple[VariedField, ...]
    points: tuple[VariedPoint, ...]
    schema: str = SCHEMA
    deference: str = DEFERENCE


def thinned(frequency_hz: FloatArray, level_db: FloatArray, bins: int = 1500) -> ThinTrace:
    """Thin a trace for drawing without losing a peak or a null.

    Parameters
    ----------
    frequency_hz, level_db : array, shape (n,)
        The full trace, frequencies rising.
    bins : int
        At most two points per bin are kept.

    Returns
    -------
    ThinTrace
        The lowest and the highest point of each bin, in order of frequency.

    Examples
    --------
    >>> f = np.arange(1.0, 10_001.0)
    >>> thin = thinned(f, np.where(f == 5000.0, 60.0, 20.0), bins=100)
    >>> thin.points, float(thin.level_db.max()), thin.frequency_hz.size
    (10000, 60.0, 101)
    """
    n = frequency_hz.size
    if n <= 2 * bins:
        return ThinTrace(frequency_hz, level_db, n)
    size = -(-n // bins)
    padded = np.pad(level_db, (0, -n % size), mode="edge").reshape(-1, size)
    starts = np.arange(padded.shape[0]) * size
    rows = np.concatenate([starts + padded.argmin(axis=1), starts + padded.argmax(axis=1)])
    keep = np.unique(np.minimum(rows, n - 1))
    return ThinTrace(frequency_hz[keep], level_db[keep], n)
