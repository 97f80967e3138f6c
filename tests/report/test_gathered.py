"""What repeats stands once, and nothing is lost by it."""

from dataclasses import replace

from linkbudget.core.sources import Source
from linkbudget.emissions.scan import Reading
from linkbudget.report.gathered import (
    apart_rows,
    cited_documents,
    record_groups,
    unstated_rows,
)
from linkbudget.report.rows import highest_points, with_repeats
from linkbudget.results import Cited, Unstated


def test_scans_of_one_set_up_share_their_record(study):
    groups = record_groups(study.emissions.scans)
    assert [(group.title, len(group.scans)) for group in groups] == [
        ("Enclosure port, antenna, at 3 m, bandwidth 120 kHz: 2 scans", 2),
        ("Enclosure port, antenna, at 3 m, bandwidth 120 kHz: 2 scans", 2),
        ("Enclosure port, antenna, at 3 m, bandwidth 1 MHz: 2 scans", 2),
        ("AC mains, line-impedance network, bandwidth 9 kHz: 2 scans", 2),
    ]
    mains = groups[-1]
    assert [name for name, _ in mains.own] == ["file", "conductor"]
    assert [fact.text for fact in dict(mains.own)["conductor"]] == ["line", "neutral"]
    shared = {fact.name: fact.text for fact in mains.shared}
    assert (shared["points"], shared["uncertainty (k = 2)"]) == ("8 000", "3.4 dB")
    assert shared["corrections"] == "antenna factor, dB/m"


def test_a_scan_alone_keeps_its_name_and_its_assumed_readings(study):
    (group,) = record_groups(study.emissions.scans[:1])
    assert (group.title, group.own) == ("aluminium lid, H", ())
    assumed = [fact.name for fact in group.shared if fact.assumed]
    assert assumed == ["file: decimal mark"]


def test_readings_of_one_name_are_both_kept(study):
    twice = (Reading("header", "line 1"), Reading("header", "line 9", assumed=True))
    (group,) = record_groups([replace(study.emissions.scans[0], readings=twice)])
    (header,) = [fact for fact in group.shared if fact.name == "file: header"]
    assert (header.text, header.assumed) == ("line 1; line 9", True)


def test_a_range_set_apart_stands_once_with_its_highest_reading(study):
    rows = apart_rows(study.emissions.scans)
    assert len(rows) == len({(row.low_hz, row.high_hz, row.why) for row in rows}) == 2
    band = next(row for row in rows if "out-of-band" in row.why)
    assert (band.scan, round(band.highest_level_db)) == ("above 1 GHz, H", 92)  # as it is made


def test_unstated_facts_that_differ_in_name_alone_share_a_row():
    def row(what, used):
        return Unstated(what, used, "assumed", "scans.variant", None, "another may read higher")

    rows = unstated_rows([row("variant of a", "all"), row("step", "1"), row("variant of b", "all")])
    assert [one.what for one in rows] == ["variant of a; variant of b", "step"]


def test_a_document_stands_once_with_all_that_was_taken():
    def cited(what, document, clause, edition="2019", obtained="read in source", note=""):
        return Cited(what, Source(document, edition, clause, obtained, note=note))

    documents = cited_documents(
        [
            cited("loss", "ITU-R P.525", "equation 4"),
            cited("lines", "CISPR 32", "table A.4", "2012", note="quoted elsewhere"),
            cited("more lines", "CISPR 32", "table A.4", "2012", note="quoted elsewhere"),
            cited("mains", "CISPR 32", "table A.10", "2015", "from memory"),
            cited("loss", "ITU-R P.525", "annex"),
        ]
    )
    assert [(one.title, one.uses) for one in documents] == [
        ("ITU-R P.525, 2019 (read in source; check against the standard)",
         (("loss", "equation 4; annex"),)),
        ("CISPR 32", (
            ("lines; more lines",
             "2012, table A.4 (read in source; check against the standard). Quoted elsewhere"),
            ("mains", "2015, table A.10 (from memory; check against the standard)"),
        )),
    ]  # fmt: skip


def test_a_metal_that_prints_alike_names_its_first_variant(study):
    lid, plastic, wired = study.links
    again = replace(lid, variant="aluminium lid, other firmware")
    assert [first for _, first in with_repeats((lid, plastic, again, wired))] == [
        "", "", "aluminium lid", "",
    ]  # fmt: skip


def test_highest_points_come_highest_first(study):
    scan = next(s for s in study.emissions.scans if s.name == "above 1 GHz, H")
    points = [(round(f / 1e9, 2), round(level)) for f, level in highest_points(scan)[:2]]
    assert points == [(2.44, 92), (4.88, 58)]  # as the sample is made
