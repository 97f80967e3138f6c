"""Random scans through random formats come back the same; random bytes are read or refused."""

import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import InputError
from linkbudget.emissions import reader
from linkbudget.emissions.layout import find_layout
from linkbudget.emissions.reader import read_scan

FACTOR = {"Hz": 1, "kHz": 1_000, "MHz": 1_000_000, "GHz": 1_000_000_000}

# Frequencies are whole kilohertz and levels whole hundredths, so that the expected numbers are
# exact decimals made without the reader.
scans = st.lists(
    st.tuples(st.integers(9, 40_000_000), st.integers(-15_000, 10_000)),
    min_size=2,
    max_size=40,
    unique_by=lambda pair: pair[0],
)
formats = st.fixed_dictionaries(
    {
        "delimiter": st.sampled_from([",", ";", "\t", "  "]),
        "mark": st.sampled_from([".", ","]),
        "frequency_unit": st.sampled_from(list(FACTOR)),
        "level_unit": st.sampled_from(["dBm", "dBuV", "dBµV", "dBuV/m", "dB(µV/m)", "dBμA"]),
        "brackets": st.sampled_from(["{} [{}]", "{} ({})", "{}/{}", "{} in {}", "{} {}"]),
        "end": st.sampled_from(["\n", "\r\n", "\r"]),
        "encoding": st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"]),
        "preamble": st.lists(
            st.sampled_from(["", "Printer 7, lid open", "# 3 m", "Points;1001", 'Disk 3" x']),
            max_size=3,
        ),
        "trailing": st.booleans(),
        "order": st.sampled_from(["rising", "falling", "as it comes"]),
    }
)
CANONICAL = {
    "dBm": "dBm",
    "dBuV": "dBuV",
    "dBµV": "dBuV",
    "dBuV/m": "dBuV/m",
    "dB(µV/m)": "dBuV/m",
    "dBμA": "dBuA",
}


def _written(scan, how):
    if how["mark"] == "," and how["delimiter"] == ",":
        how = {**how, "mark": "."}
    trailing = how["delimiter"] if how["trailing"] and how["delimiter"] != "  " else ""
    unit = how["level_unit"]
    if how["encoding"] == "latin-1":
        unit = unit.replace("μ", "µ")  # only the micro sign is in Latin-1
    names = ("Frequency", how["frequency_unit"]), ("Level", unit)
    header = how["delimiter"].join(how["brackets"].format(*pair) for pair in names)
    if how["delimiter"] == "  ":
        header = header.replace(" in ", " ")
    lines = [*how["preamble"], header + trailing]
    for kilohertz, hundredths in scan:
        digits = {"Hz": 0, "kHz": 0, "MHz": 3, "GHz": 6}[how["frequency_unit"]]
        whole = kilohertz * 1000 if how["frequency_unit"] == "Hz" else kilohertz
        frequency = f"{whole // 10**digits}" + (
            f".{whole % 10**digits:0{digits}d}" if digits else ""
        )
        level = (
            f"{'-' if hundredths < 0 else ''}{abs(hundredths) // 100}.{abs(hundredths) % 100:02d}"
        )
        pair = (frequency.replace(".", how["mark"]), level.replace(".", how["mark"]))
        lines.append(how["delimiter"].join(pair) + trailing)
    return (how["end"].join(lines) + how["end"]).encode(how["encoding"])


@settings(deadline=None, max_examples=300, suppress_health_check=[HealthCheck.too_slow])
@given(scans, formats)
def test_round_trip_returns_the_same_numbers(scan, how):
    if how["order"] != "as it comes":
        scan = sorted(scan, reverse=how["order"] == "falling")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scan.csv"
        path.write_bytes(_written(scan, how))
        trace = read_scan(path)
    expected = sorted(scan)
    assert trace.frequency_hz.tolist() == [kilohertz * 1000.0 for kilohertz, _ in expected]
    assert trace.level_db.tolist() == [hundredths / 100 for _, hundredths in expected]
    assert trace.unit == CANONICAL[how["level_unit"]]


def _read_or_refusal(path, **options):
    try:
        return read_scan(path, **options)
    except InputError as refusal:  # OutOfRange and MissingData are of this kind
        return refusal


def _check_read_or_refused(content, **options):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scan.csv"
        path.write_bytes(content)
        outcome = _read_or_refusal(path, **options)
    if isinstance(outcome, InputError):
        assert str(outcome).startswith(str(path))
        return
    assert outcome.frequency_hz.size == outcome.level_db.size >= 2
    assert np.all(outcome.frequency_hz[1:] > outcome.frequency_hz[:-1])
    assert outcome.frequency_hz[0] > 0
    assert np.isfinite(outcome.frequency_hz).all()
    assert np.isfinite(outcome.level_db).all()


@settings(deadline=None, max_examples=200)
@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(content):
    _check_read_or_refused(content, level_unit="dBuV", frequency_unit="MHz")


LIKELY = (
    *("30", "31.5", "1e400", "-", "NaN", "inf", "0", "1,5", "−5", "", "µ", "\0", '"', "#"),
    *(",", ",", ",", ";", "\t", " ", "\n", "\n", "\r"),
    *("Frequency [MHz]", "Level [dBuV]", "dBm", "phase", "unit"),
)
pieces = st.sampled_from(LIKELY)


@settings(deadline=None, max_examples=400)
@given(st.lists(pieces, max_size=60), st.sampled_from(["utf-8", "utf-16", "latin-1"]))
def test_any_mixture_of_likely_pieces_is_read_or_refused(parts, encoding):
    content = "".join(parts).encode(encoding, "replace")
    _check_read_or_refused(content, level_unit="dBuV", frequency_unit="MHz")
    _check_read_or_refused(content)


ROWS = ("30,1", "31,2,", "32", "33,4,5", ",6", "34,x", "", "35, 7 ", "36,-", "37,8", '"38",9')
ENDS = ("\n", "\n", "\r\n", "\r")


@settings(deadline=None, max_examples=500)
@given(
    st.lists(st.tuples(st.sampled_from(ROWS), st.sampled_from(ENDS)), max_size=8),
    st.sampled_from([",", ";", " "]),
    st.sampled_from(ENDS),
)
def test_pandas_never_accepts_what_the_careful_reader_reads_otherwise(rows, delimiter, end):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scan.csv"
        text = end.join(["", "Frequency[MHz],Level[dBuV]", "29,1", ""])
        text += "".join(row + row_end for row, row_end in rows) + "40,1"
        path.write_bytes(text.replace(",", delimiter).encode())
        try:
            layout = find_layout(path)
        except InputError:
            return
        fast = reader._read_fast(path, layout)
        if fast is not None:
            careful = reader._read_line_by_line(path, layout)
            assert fast.frequency.tolist() == careful.frequency.tolist()
            assert fast.level.tolist() == careful.level.tolist()
            assert (careful.gaps, careful.comments) == (0, 0)


def test_a_clean_file_takes_the_fast_way(tmp_path):
    path = tmp_path / "scan.csv"
    path.write_text("Frequency [MHz];Level [dBuV];Remark\n30;1,5;a\n31;2,5;\n")
    rows = reader._read_fast(path, find_layout(path))
    assert rows is not None
    assert rows.level.tolist() == pytest.approx([1.5, 2.5], abs=0)
