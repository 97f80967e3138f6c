"""A whole study made of invented data, run through the real link, metal and emission code."""

from dataclasses import replace

import numpy as np
import pytest

from linkbudget.core.quantity import Quantity
from linkbudget.core.sources import Source
from linkbudget.decision.booking import advise, advise_variant
from linkbudget.emissions.conformity import (
    OwnTransmitter,
    required_lines,
    set_apart,
    standings,
)
from linkbudget.emissions.limits import highest_measured_frequency, lines
from linkbudget.emissions.scan import Reading, Scan, ScanRecord, Trace
from linkbudget.enclosure.box_report import box_report
from linkbudget.enclosure.fullwave import FieldComparison, FieldSolution, MeshSolution, Port
from linkbudget.enclosure.geometry import Box, Metal, Opening, PlacedAntenna, Plate, Scene
from linkbudget.enclosure.measured import levels_loss, measured_effect
from linkbudget.enclosure.paths import metal_effect
from linkbudget.enclosure.sweeps import Change
from linkbudget.link.budget import LinkInputs, MetalLoss
from linkbudget.link.delivery import Delivery
from linkbudget.link.fades import FadeLaw
from linkbudget.link.forecast import Outcome
from linkbudget.link.laws import open_air
from linkbudget.link.legal_power import power_rows
from linkbudget.link.reach import difference, level_against_distance
from linkbudget.link.transmission import Transmission
from linkbudget.physics.materials import metal
from linkbudget.results import (
    BookingFacts,
    Cited,
    ClockInChannel,
    EmissionsResult,
    FadeAllowances,
    LevelCurve,
    Product,
    ScanResult,
    StudyResult,
    Unstated,
    VariantEmissions,
    VariantLink,
    thinned,
)

BAND_HZ = 2.44e9
VARIANTS = ("aluminium lid", "plastic lid", "wired only")
RADIO = OwnTransmitter("2.4 GHz radio", 2.4e9, 2.4835e9, 2e6)
CISPR_32 = Source("CISPR 32", "ed. 2.1", "table A.4", "secondary source")


def _inputs():
    return LinkInputs(
        frequency_hz=BAND_HZ,
        conducted_power=Quantity(4.0, "dBm", "stated", 3.0, 5.0, "radio.conducted_power"),
        mismatch=Quantity(0.5, "dB", "typical", 0.2, 1.0, "return loss of printed antennas"),
        antenna_gain=Quantity(0.0, "dBi", "stated", -1.0, 1.0, "antenna.gain"),
        body=Quantity(3.0, "dB", "typical", 0.0, 6.7, "hand near the antenna"),
        polarisation=Quantity(3.0, "dB", "assumed", 0.0, 10.0, "nobody stated it"),
        far_gain=Quantity(-2.0, "dBi", "typical", -4.0, 0.0, "antenna of a telephone"),
        sensitivity=Quantity(-94.0, "dBm", "stated", source="radio.sensitivity"),
    )


def _link(variant):
    if variant == "wired only":
        return VariantLink(variant, "", absent_because="This variant has no radio.")
    inputs, wanted_m = _inputs(), 15.0
    # a room whose law is believed everywhere, so that the answers are about the link
    room = replace(open_air(BAND_HZ), believed_to_m=np.inf)
    fade = FadeLaw("rayleigh", 0.99, "places")
    fading = FadeAllowances(
        "rayleigh",
        Quantity(20.0, "dB", "computed", source="rayleigh fading, 0.99 of places"),
        Quantity(14.0, "dB", "computed", source="log-normal fading, 0.99 of places, 6 dB"),
        "places",
    )
    effect = loss = None
    if variant == "aluminium lid":
        row = metal("aluminium")
        sheet = Metal(row.name, row.conductivity_s_per_m)
        effect = metal_effect(Plate(0.18, 0.12, 0.0015, sheet, 0.012, 0.06), BAND_HZ, "above")
        path = Quantity(10.5, "dB", "computed", 7.0, 14.0, "round the edge, closed form")
        loss = MetalLoss(effect.detuning, path)
    near_m, far_m = 0.5, 200.0
    comparison = difference(inputs, room, fade, wanted_m, loss, 0.18)
    distance_m, without = level_against_distance(room, comparison.without, near_m, far_m)
    with_dbm = low = high = None
    if loss is not None:
        with_dbm = without - loss.total().value
        low, high = without - loss.total().band[1], without - loss.total().band[0]
    return VariantLink(
        variant,
        "2.4 GHz radio, 1 Mbit/s",
        frequency_hz=BAND_HZ,
        wanted_distance_m=wanted_m,
        reliability=0.99,
        room=room,
        comparison=comparison,
        metal=effect,
        fading=fading,
        curve=LevelCurve(distance_m, without, with_dbm, low, high),
        notes=("The far end is taken to stand above the lid.",),
        power=power_rows(_transmission(inputs)),
        clocks=(ClockInChannel("display", 50, 2.4e9, 2.402e9, always=False),),
        delivery=_delivery() if variant == "aluminium lid" else None,
    )


def _transmission(inputs):
    return Transmission(
        band_hz=(2.402e9, 2.480e9),
        conducted_power=inputs.conducted_power,
        peak_gain=Quantity(2.0, "dBi", "stated"),
        metal_gain=Quantity(6.0, "dB", "computed"),
        cable_loss=Quantity(0.0, "dB", "stated"),
        channel_bandwidth_hz=2e6,
        technology="frequency hopping",
        channels=37,
    )


def _delivery():
    """Three tries in 30 ms; between 90 % and 99.99 % of reports arrive, alike likely."""
    chance = Outcome.of_draws(np.linspace(0.9, 0.9999, 10_001), "1")
    return Delivery(0.03, 3, chance, 0.05)


def _noise(rng, n, floor_db):
    return floor_db + 10.0 * np.log10(rng.exponential(1.0, n) + 0.3)


def _lines_on(level, f, peaks, width):
    for at_hz, peak_db in peaks:
        shape = peak_db - 3.0 * ((f - at_hz) / width) ** 2
        level = np.maximum(level, shape)
    return level


def _scan(name, low, high, n, floor, peaks, record, seed, *, log=False):
    rng = np.random.default_rng(seed)
    f = np.geomspace(low, high, n) if log else np.linspace(low, high, n)
    level = _lines_on(_noise(rng, n, floor), f, peaks, record.bandwidth_hz / 2.0)
    unit = "dBuV/m" if record.port == "enclosure" else "dBuV"
    readings = (
        Reading("delimiter", "semicolon"),
        Reading("decimal mark", "point", assumed=True),
        Reading("level unit", unit),
    )
    return Scan(
        name,
        Trace(f, level, unit, f"scans/{seed}.csv", readings),
        record,
        ("antenna factor, dB/m",),
    )


def _scans():
    comb = [(48e6 * k, 40.0 - 2.2 * k) for k in range(1, 9)]
    scans = []
    for variant, lift in (("aluminium lid", 4.0), ("plastic lid", 0.0)):
        for at, side in enumerate(("horizontal", "vertical")):
            record = ScanRecord(
                "enclosure",
                "antenna",
                "peak",
                120e3,
                60e3,
                3.0,
                1.0,
                variant=variant,
                polarisation=side,
                site="own room",
                mode="printing, radio connected",
                supply="230 V, 50 Hz",
            )
            peaks = [(f, level + lift - 5.0 * (1 - at)) for f, level in comb]
            seed = len(scans) + 1
            scans.append(
                _scan(
                    f"{variant}, {side[:1].upper()}", 30e6, 1e9, 16_000, 22.0, peaks, record, seed
                )
            )
    for at, side in enumerate(("horizontal", "vertical")):
        record = ScanRecord(
            "enclosure", "antenna", "peak", 1e6, 0.5e6, 3.0, 1.0, variant="aluminium lid",
            polarisation=side, site="own room",
        )  # fmt: skip
        peaks = [(1.2e9, 44.0), (2.44e9, 92.0 - 6 * at), (4.88e9, 58.0 - 4 * at)]
        scans.append(
            _scan(
                f"above 1 GHz, {side[:1].upper()}", 1e9, 5.2e9, 9000, 34.0, peaks, record, 20 + at
            )
        )
    for at, side in enumerate(("line", "neutral")):
        record = ScanRecord(
            "AC mains", "line-impedance network", "peak", 9e3, 4.5e3, conductor=side,
            mode="printing", supply="230 V, 50 Hz", uncertainty_db=3.4,
        )  # fmt: skip
        peaks = [(130e3 * k, 58.0 - 2.6 * k - at) for k in range(2, 10)] + [(18e6, 44.0)]
        scans.append(_scan(f"mains, {side}", 150e3, 30e6, 8000, 26.0, peaks, record, 30 + at))
    return scans


def _emissions():
    highest = highest_measured_frequency(None)
    required = required_lines(
        "CISPR 32", "B", "adapter", highest.value, scanned_distances_m=(3.0,), adapter="PS-24"
    )
    scans = _scans()
    radios = {"aluminium lid": (RADIO,), "plastic lid": (RADIO,), "wired only": ()}
    variants = tuple(
        VariantEmissions(v, standings(scans, required, radios[v], variant=v)) for v in VARIANTS
    )
    found = [f for v in variants for s in v.standings for f in s.compared]
    results = tuple(
        ScanResult(
            scan.name,
            scan.trace.file,
            scan.trace.unit,
            scan.record,
            scan.trace.readings,
            scan.chain,
            thinned(scan.trace.frequency_hz, scan.trace.level_db),
            tuple({f.line.line_id: f for f in found if f.scan == scan.name}.values()),
            set_apart(scan, (RADIO,)),
        )
        for scan in scans
    )
    held = lines("CISPR 32", "B")
    return EmissionsResult("CISPR 32", "B", "", highest, held, results, variants)


@pytest.fixture(scope="session")
def study():
    emissions = _emissions()
    advice = advise([advise_variant(v.variant, v.standings) for v in emissions.variants])
    return StudyResult(
        scenario_file="label-printer.toml",
        tool_version="0.1.0",
        product=Product(
            "Desktop label printer",
            "Prints labels at a counter; an aluminium lid sits over its radio.",
            "multimedia and IT equipment",
            VARIANTS,
        ),
        links=tuple(_link(v) for v in VARIANTS),
        emissions=emissions,
        advice=advice,
        booking=BookingFacts(
            (("next slot", "in 3 weeks"), ("price of a day", "EUR 1800"), ("retest", "6 weeks")),
            "A missed slot costs EUR 1800 and 6 weeks, by your own figures.",
        ),
        unstated=(
            Unstated(
                "measurement uncertainty above 1 GHz",
                "5.2 dB and 3 dB for a pre-scan",
                "assumed",
                "scans.uncertainty",
                6.0,
                "CISPR 16-4-2 and a term for an ordinary room",
            ),
            Unstated(
                "hand or body near the product",
                "3 dB (0 to 6.7 dB)",
                "typical",
                "link.body_loss",
                3.7,
                "measured grips of telephones",
            ),
            Unstated(
                "highest internal frequency",
                "radiated emissions up to 6 GHz",
                "assumed",
                "product.highest_internal_frequency",
                None,
                "CISPR 32, table 1",
            ),
        ),
        sources=(
            Cited("limits of class B", CISPR_32),
            Cited(
                "free-space transmission loss",
                Source("Recommendation ITU-R P.525", "P.525-4", "equation (4)", "read in source"),
            ),
        ),
        cautions=(
            "A line-impedance network leaks current to earth: bond it to earth before you plug"
            " it in, and expect a residual-current device to trip.",
            "Transmit only where your licence or a screened room allows it.",
        ),
    )


HOSTILE = (
    '<script>alert("lid")</script>',
    "=cmd|' /C calc'!A0",
    "x" * 300,
    "\u202eغطاء الألمنيوم\u202c",
    "</script><b>bold</b>\x1b[31m",
)


@pytest.fixture(scope="session")
def hostile_study(study):
    """The same study with labels that try to break out of the page."""
    script, formula, long, right_to_left, closing = HOSTILE
    emissions = study.emissions
    scans = tuple(
        replace(
            scan,
            name=HOSTILE[at % len(HOSTILE)],
            file=closing,
            record=replace(scan.record, mode=script, site=long),
            readings=(Reading(script, closing, assumed=True),),
        )
        for at, scan in enumerate(emissions.scans)
    )
    names = dict(zip(VARIANTS, (script, long, right_to_left), strict=True))
    return replace(
        study,
        scenario_file=closing,
        product=Product(script, right_to_left, formula, tuple(names.values())),
        links=tuple(replace(one, variant=names[one.variant], radio=closing) for one in study.links),
        emissions=replace(
            emissions,
            scans=scans,
            variants=tuple(replace(v, variant=names[v.variant]) for v in emissions.variants),
        ),
        advice=replace(
            study.advice,
            variants=tuple(replace(v, variant=names[v.variant]) for v in study.advice.variants),
        ),
        booking=BookingFacts(((script, closing),), formula),
        unstated=(Unstated(script, long, "assumed", formula, 1.0, closing), *study.unstated),
        cautions=(script, long, *study.cautions),
    )


FREE_OHM, METAL_OHM = 70.0 + 0.0j, 20.0 + 30.0j
SWEPT_HZ = np.array([2.40e9, 2.44e9, 2.48e9])


def _pattern(up, right, back):
    """Gain over theta and phi whose means over each side are known by hand."""
    theta = np.radians(np.linspace(0.0, 180.0, 61))[:, None]
    phi = np.radians(np.arange(48) * 7.5)[None, :]
    aside = right * np.cos(phi) + back * np.sin(phi)
    return 1.0 + up * np.cos(theta) + np.sin(theta) * aside


def _mesh(cell_m, segments, ohm, gain):
    return MeshSolution(cell_m, segments, np.full(3, ohm), gain, 0.02)


@pytest.fixture(scope="session")
def scene():
    sheet = Metal("aluminium", 3.5e7)
    tray = Plate(0.2, 0.12, 0.0015, sheet, 0.012, 0.05, 0.008)
    return Scene(PlacedAntenna("half-wave dipole", "length", -0.02, 0.01, 0.012), None, tray)


@pytest.fixture(scope="session")
def box():
    openings = (
        Opening("slot", 0.061, 0.001, 1, "lid", "length", (0.02, 0.03)),
        Opening("round", 0.005, 0.005, 12, "back"),
        Opening("slot", 0.05, 0.0005, 4),
    )
    antenna = PlacedAntenna("chip", "width", -0.03, 0.01, 0.02, efficiency=0.5)
    sheet = Metal("aluminium", 3.5e7)
    return Box(0.2, 0.12, 0.05, 0.0015, sheet, openings, 80.0, antenna)


@pytest.fixture(scope="session")
def fields(scene):
    """Fields of a made-up antenna: isotropic when free, leaning down and to the right with metal.

    By hand: mean above 0.6, below 1.4, straight up 0.2; of the power of a 70 ohm source
    4 x 20 x 70 / (90^2 + 30^2) = 62.2 % goes into 20 + j 30 ohm.
    """
    free, leaning = _pattern(0.0, 0.0, 0.0), _pattern(-0.8, 0.5, 0.3)
    port = Port(70.0, 0.0, 0.0)

    def solved(ohm, gain, segments, cautions):
        coarse, fine = (_mesh(0.010, segments, ohm, gain), _mesh(0.007, 2 * segments, ohm, gain))
        return FieldSolution(scene, SWEPT_HZ, coarse, fine, port, port, cautions)

    return FieldComparison(
        solved(METAL_OHM, leaning, 700, ("No plastic.",)), solved(FREE_OHM, free, 21, ())
    )


def _gain(value, low, high):
    return Quantity(value, "dB", "computed", low, high, "by hand", "low to high estimate")


@pytest.fixture(scope="session")
def changes():
    gains = (_gain(0.0, 0.0, 0.0), _gain(2.0, 1.0, 3.0), _gain(4.0, 2.0, 5.0))
    return (
        Change(
            "antenna further from the sheet",
            "antenna depth",
            "mm",
            np.array([12.0, 22.0, 32.0]),
            gains,
            (32.0, _gain(5.0, 4.5, 5.5)),
            "solved",
            32.0,
            notes=("For a dipole.",),
        ),
        Change(
            "skirt lower, or none",
            "height of the skirt",
            "mm",
            np.array([8.0, 0.0]),
            (_gain(0.0, 0.0, 0.0), _gain(-1.0, -2.0, 0.5)),
            (8.0, _gain(0.0, 0.0, 0.0)),
            "closed form",
            0.0,
            "stated",
        ),
    )


@pytest.fixture(scope="session")
def solved_study(study, scene, fields, changes):
    """The metal lid with solved fields, a measured pair, and what would help."""
    pair = levels_loss([-70.0, -74.0, -65.0], [-60.0, -63.0, -53.0], estimated=_gain(14.0, 9, 19))
    link = replace(study.links[0], scene=scene, fields=fields, changes=changes, measured=pair)
    link = replace(link, metal=measured_effect(pair, link.metal))
    return replace(study, links=(link, study.links[1]), emissions=None, advice=None)


@pytest.fixture(scope="session")
def box_study(study, box):
    link = replace(
        study.links[0],
        variant="slotted box",
        scene=box,
        metal=metal_effect(box, BAND_HZ, "anywhere"),
        box=box_report(box, 2.40e9, 2.48e9),
    )
    return replace(study, links=(link,), emissions=None, advice=None)
