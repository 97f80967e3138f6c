import pytest

from linkbudget.emissions.detectors import explanation, meaning


# Order of detectors on one signal: average <= quasi-peak <= peak (CISPR 16-1-1, from memory).
@pytest.mark.parametrize(
    ("scan", "limit", "below", "above"),
    [
        ("peak", "peak", "settled", "over"),
        ("peak", "quasi-peak", "settled", "over"),
        ("peak", "average", "settled", "says nothing"),
        ("quasi-peak", "peak", "says nothing", "over"),
        ("quasi-peak", "quasi-peak", "settled", "over"),
        ("quasi-peak", "average", "settled", "says nothing"),
        ("average", "peak", "says nothing", "over"),
        ("average", "quasi-peak", "says nothing", "over"),
        ("average", "average", "settled", "over"),
    ],
)
def test_what_a_reading_says(scan, limit, below, above):
    assert meaning(scan, limit, below=True) == below
    assert meaning(scan, limit, below=False) == above


def test_a_peak_over_a_quasi_peak_line_gets_no_credit_and_the_reason_says_so():
    assert "steady clock line" in explanation("peak", "quasi-peak", below=False)


def test_the_same_detector_needs_no_explanation():
    assert explanation("average", "average", below=False) == ""


@pytest.mark.parametrize("scan", ["peak", "quasi-peak"])
def test_above_an_average_line_the_reason_names_the_average(scan):
    assert explanation(scan, "average", below=False) == f"the average may lie far below the {scan}"
