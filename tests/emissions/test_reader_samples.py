"""Each sample file holds the same little table, written in a different way.

The table below was typed by hand; the files were written from it and looked at one by one.
"""

from pathlib import Path

import pytest

from linkbudget.emissions.reader import read_scan

SAMPLES = Path(__file__).parent.parent / "samples"

FREQUENCY_HZ = [30e6, 48.5e6, 125.25e6, 240e6, 480e6, 960e6]
LEVEL_DBUV_PER_M = [24.1, 38.5, 31.25, -2.0, 40.0, 27.75]

NEEDED = {
    "unit_nowhere.csv": {"frequency_unit": "MHz", "level_unit": "dBuV/m"},
    "no_header.csv": {"frequency_unit": "MHz", "level_unit": "dBµV/m"},
    "byte_order_mark_no_header.csv": {"frequency_unit": "MHz", "level_unit": "dBuV/m"},
    "two_levels.csv": {"level_column": "Average [dBuV/m]"},
}


def _read(name):
    return read_scan(SAMPLES / name, **NEEDED.get(name, {}))


def _told(trace):
    return {reading.what: (reading.found, reading.assumed) for reading in trace.readings}


@pytest.mark.parametrize("name", sorted(path.name for path in SAMPLES.iterdir()))
def test_every_sample_reads_to_the_same_table(name):
    trace = _read(name)
    assert trace.frequency_hz.tolist() == FREQUENCY_HZ
    assert trace.level_db.tolist() == LEVEL_DBUV_PER_M
    assert trace.unit == "dBuV/m"
    assert trace.blank_rows == {"nan.csv": 3, "dashes.csv": 2}.get(name, 0)


def test_there_are_samples():
    assert len(list(SAMPLES.iterdir())) >= 45


@pytest.mark.parametrize(
    ("name", "what", "found", "assumed"),
    [
        ("plain.csv", "encoding", "UTF-8", False),
        ("utf16_le.csv", "encoding", "UTF-16", False),
        ("latin1.csv", "encoding", "Latin-1", True),
        ("byte_order_mark.csv", "encoding", "UTF-8 with byte order mark", False),
        ("plain.csv", "delimiter", "comma", False),
        ("tab.txt", "delimiter", "tab", False),
        ("blanks.txt", "delimiter", "blanks", False),
        ("semicolon_decimal_comma.csv", "delimiter", "semicolon", False),
        ("semicolon_decimal_comma.csv", "decimal mark", "comma", False),
        ("quoted_decimal_comma.csv", "decimal mark", "comma", False),
        ("key_value_preamble.csv", "preamble", "lines 1 to 10, read for units only", False),
        ("key_value_preamble.csv", "header", "line 11", False),
        ("unit_row.csv", "header", "line 1", False),
        ("no_header.csv", "header", "none", True),
        ("no_header.csv", "frequency column", "column 1", True),
        ("no_header.csv", "level column", "column 2", True),
        ("level_before_frequency.csv", "frequency column", "column 2 'Frequency [MHz]'", False),
        ("hertz_unsaid.csv", "frequency unit", "Hz, as they reach 9.6e+08", True),
        ("gigahertz.csv", "frequency unit", "GHz", False),
        ("plain.csv", "level unit", "dBuV/m", False),
        ("unit_in_preamble_only.csv", "level unit", "dBuV/m, as stated above the rows", False),
        ("unit_in_preamble_only.csv", "frequency unit", "MHz, as stated above the rows", False),
        ("unit_nowhere.csv", "level unit", "dBuV/m, as you say", False),
        ("unit_nowhere.csv", "frequency unit", "MHz, as you say", False),
        ("descending.csv", "order", "falling, reversed", False),
        ("unsorted.csv", "order", "not sorted (row 4 steps back), sorted", False),
        ("duplicates.csv", "duplicate frequencies", "2 merged, the highest level kept", False),
        ("nan.csv", "gaps", "3 rows without a level, first on line 3", False),
        ("dashes.csv", "gaps", "2 rows without a level, first on line 2", False),
        ("comment_marks.csv", "comment lines", "1 among the rows, left out", False),
        (
            "phase_and_linear.csv",
            "columns not taken",
            "column 2 'Phase [deg]', column 3 'Level [V/m]'",
            False,
        ),
        (
            "script_label.csv",
            "level column",
            "column 2 '<script>alert(1)</script> [dBuV/m]'",
            False,
        ),
        ("formula_label.csv", "level column", "column 2 '=1+1 level [dBuV/m]'", False),
        ("nan.csv", "rows", "9, from line 2", False),
    ],
)
def test_what_was_found_is_told(name, what, found, assumed):
    assert _told(_read(name))[what] == (found, assumed)


def test_a_clean_file_tells_of_nothing_odd():
    assert _told(_read("plain.csv")).keys() == {
        "encoding",
        "delimiter",
        "decimal mark",
        "header",
        "frequency column",
        "level column",
        "level unit",
        "frequency unit",
        "rows",
    }
    assert not any(reading.assumed for reading in _read("plain.csv").readings)


def test_the_name_that_the_user_gave_is_kept():
    assert read_scan(SAMPLES / "plain.csv", shown_as="scans/plain.csv").file == "scans/plain.csv"


def test_a_column_can_be_chosen_by_number():
    trace = read_scan(SAMPLES / "two_levels.csv", level_column="3")
    assert trace.level_db.tolist() == LEVEL_DBUV_PER_M
