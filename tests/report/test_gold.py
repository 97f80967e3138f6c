"""Output of a small study of literal numbers, letter by letter, against ``tests/gold``.

To renew after a wanted change: print what the test shows, read it, and copy it there.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from linkbudget.core.quantity import Quantity
from linkbudget.core.sources import Source
from linkbudget.core.uncertainty import Estimate, Simulated
from linkbudget.decision.booking import Advice, VariantAdvice
from linkbudget.enclosure.paths import MetalEffect, PathLoss
from linkbudget.link.budget import BudgetLine, LinkBudget
from linkbudget.link.delivery import Delivery
from linkbudget.link.forecast import Forecast, Outcome
from linkbudget.link.legal_power import PowerRow
from linkbudget.link.reach import LinkComparison, Reach
from linkbudget.link.rooms import Room
from linkbudget.report.record import to_json
from linkbudget.report.terminal import enclosure_summary, link_summary, summary
from linkbudget.results import (
    BookingFacts,
    Cited,
    ClockInChannel,
    FadeAllowances,
    LevelCurve,
    Product,
    StudyResult,
    Unstated,
    VariantLink,
)

GOLD = Path(__file__).parents[1] / "gold"


def _db(value, low=None, high=None, kind="computed", unit="dB", source="by hand"):
    return Quantity(value, unit, kind, low, high, source, "low to high estimate" if low else "")


def _budget(metal_db):
    lines = [
        BudgetLine("conducted power", _db(4.0, kind="stated", unit="dBm")),
        BudgetLine("transmission loss, free space", _db(-60.0)),
    ]
    if metal_db is not None:
        lines.insert(1, BudgetLine("metal: toward the far end", metal_db.negated()))
    received = sum(line.value.value for line in lines)
    return LinkBudget(
        10.0,
        tuple(lines),
        _db(received, received - 4.0, received + 3.0, unit="dBm"),
        _db(-90.0, kind="stated", unit="dBm"),
        _db(0.0, kind="assumed"),
        _db(received + 90.0, received + 86.0, received + 93.0),
        _db(20.0),
        _db(0.0),
        _db(received + 70.0, received + 66.0, received + 73.0),
    )


def _outcome(median, half, unit):
    """A figure alike likely within twice a half-width, in five points."""
    shares = np.array([0.1, 0.3, 0.5, 0.7, 0.9])

    def found(value):
        return Estimate(value, 0.01)

    ends = [(found(median - half * c), found(median + half * c)) for c in (0.5, 0.8, 0.95)]
    return Outcome(found(median), tuple(ends), shares, median + half * (2 * shares - 1), unit)


def _forecast(margin_db, reach_m, chance):
    """Draws on a grid of 16 by 16: the gain spreads the margin four times as far as the turn."""
    gain, turn = (
        each.ravel() for each in np.meshgrid(np.linspace(-4, 4, 16), np.linspace(-1, 1, 16))
    )
    return Forecast(
        level=_outcome(margin_db - 70.0, 4.0, "dBm"),
        above=_outcome(margin_db + 20.0, 4.0, "dB"),
        margin=_outcome(margin_db, 4.0, "dB"),
        reach=_outcome(reach_m, 0.4 * reach_m, "m"),
        chance=Estimate(chance, 0.002),
        draws=65_536,
        kept=Simulated({"margin": gain + turn}, {"gain": gain, "turn": turn}),
        known={"gain": _db(0.0, -4.0, 4.0), "turn": _db(0.0, -1.0, 1.0, kind="assumed")},
    )


def _power():
    source = Source("a rule", "2024", "clause 1", "secondary source")
    told = ("a rule: power", "Europe", "mean power")
    judged, margin = _db(12.0, 11.0, 13.0, unit="dBm"), _db(8.0, 7.0, 9.0)
    unit, why = "dBm", "cannot tell: it is silent"
    return (
        PowerRow(*told, "judged", judged, 20.0, unit, "20 dBm", margin, "", source),
        PowerRow(*told, "cannot tell", None, 10.0, unit, "10 dBm", None, why, source),
    )


@pytest.fixture(scope="module")
def small():
    loss = _db(12.0, 8.0, 15.0)
    comparison = LinkComparison(
        _budget(None),
        Reach(_db(50.0, 32.0, 71.0, unit="m")),
        _forecast(14.0, 50.0, 0.9996),
        _budget(loss),
        Reach(_db(12.6, 8.0, 18.0, unit="m"), ("Free space alone.",)),
        _forecast(2.0, 12.6, 0.75),
        loss,
        _db(37.4, 30.0, 41.0, unit="m"),
    )
    room = Room(
        name="free space",
        distance_m=np.array([0.1, 1000.0]),
        loss_db=np.array([20.0, 100.0]),
        source="by hand",
        believed_to_m=33.0,
        beyond_belief="The level falls faster from 33 m on.",
    )
    paths = (
        PathLoss("round the edge", _db(12.0, 8.0, 15.0)),
        PathLoss("through the sheet", _db(200.0), "the metal alone: at least 200 dB"),
    )
    link = VariantLink(
        "metal lid",
        "2.4 GHz radio",
        "",
        2.44e9,
        10.0,
        0.99,
        comparison=comparison,
        metal=MetalEffect(
            "above",
            _db(0.5),
            paths,
            "round the edge",
            loss,
            _db(3.0),
            ("Closed forms.",),
            scatter=_db(0.0, -5.0, 6.0),
        ),
        fading=FadeAllowances("rayleigh", _db(20.0), _db(14.0), "places"),
        curve=LevelCurve(np.array([1.0, 10.0]), np.array([-36.0, -56.0]), None, None, None),
        notes=("The far end stands above the lid.",),
        room=room,
        power=_power(),
        clocks=(ClockInChannel("display", 50, 2.4e9, 2.402e9, always=False),),
        delivery=Delivery(0.03, 3, _outcome(0.95, 0.02, "1"), np.inf),
    )
    return StudyResult(
        scenario_file="small.toml",
        tool_version="0.0.0",
        product=Product("Label printer", "", "multimedia and IT equipment", ("metal lid",)),
        links=(link,),
        emissions=None,
        advice=Advice(
            "measure more",
            "One required line is not measured.",
            (VariantAdvice("metal lid", "measure more", "One required line is not measured.", ()),),
        ),
        booking=BookingFacts((("price of a day", "EUR 1800"),), "A missed slot costs EUR 1800."),
        unstated=(Unstated("hand", "3 dB", "typical", "link.body_loss", 3.7, "measured grips"),),
        sources=(
            Cited("path loss", Source("ITU-R P.525", "P.525-4", "equation (4)", "read in source")),
        ),
        cautions=("Transmit only where you may.",),
    )


@pytest.mark.parametrize("make", [summary, link_summary, enclosure_summary])
def test_terminal_text(small, make):
    assert make(small) + "\n" == (GOLD / f"{make.__name__}.txt").read_text("utf-8")


def test_record(small):
    readable = json.dumps(json.loads(to_json(small)), indent=2)
    assert readable + "\n" == (GOLD / "record.json").read_text("utf-8")
