"""How a user says that a value is uncertain, and what is told where that makes no sense."""

import pytest

from linkbudget.core.errors import InputErrors
from linkbudget.core.stated import Stated
from linkbudget.scenario import load_scenario, starter


def _load(tmp_path, gain, key="gain"):
    path = tmp_path / "scenario.toml"
    text = starter().replace('gain = "2 dBi"', f"{key} = {gain}", 1)
    path.write_text(text, encoding="utf-8")
    return load_scenario(path)


@pytest.mark.parametrize(
    ("written", "stated"),
    [
        ('"1.5 dBi"', Stated(1.5)),
        ('["-3 dBi", "3 dBi"]', Stated(0.0, -3.0, 3.0, "rectangular")),
        ('{ value = "1 dBi", within = "6 dB" }', Stated(1.0, -5.0, 7.0, "rectangular")),
        (
            '{ value = "1 dBi", within = "6 dB", shape = "arcsine" }',
            Stated(1.0, -5.0, 7.0, "arcsine"),
        ),
        (
            '{ low = "0 dBi", value = "1 dBi", high = "5 dBi" }',
            Stated(1.0, 0.0, 5.0, "gaussian"),
        ),
    ],
)
def test_every_way_to_say_it(tmp_path, written, stated):
    assert _load(tmp_path, written).antenna.gain == stated


def test_a_standard_deviation_becomes_its_95_percent_band(tmp_path):
    gain = _load(tmp_path, '{ value = "1 dBi", standard_deviation = "2 dB" }').antenna.gain
    assert gain.shape == "gaussian"
    assert gain.band == pytest.approx((1.0 - 3.92, 1.0 + 3.92), abs=0.001)  # 1.96 times 2 dB


def test_another_unit_is_the_same_value(tmp_path):
    dipole = _load(tmp_path, '["-2.15 dBd", "0 dBd"]').antenna.gain
    assert dipole.band == pytest.approx((0.0, 2.15), abs=0.001)


@pytest.mark.parametrize(
    ("written", "wanted"),
    [
        ("3", "found 3; expected a number and a unit, such as"),
        ('["3 dBi", "-3 dBi"]', "found '3 dBi' and '-3 dBi'; expected two ends, the lower first"),
        ('["3 dBi"]', "found a list of 1; expected two ends, the lower first"),
        ('["3 dBi", 4]', "found 4; expected a number and a unit"),
        ('{ value = "1 dBi" }', "found a table with value; expected a table { value, standard_dev"),
        (
            '{ value = "1 dBi", within = "6 dB", high = "9 dBi" }',
            "found a table with value, within, high; expected a table { value, standard",
        ),
        ('{ value = "1 dBi", within = "6 dBi" }', "found '6 dBi'; expected a number and a unit"),
        ('{ value = "1 dBi", within = "0 dB" }', "found '0 dB'; expected more than zero"),
        (
            '{ value = "1 dBi", within = "6 dB", shape = "gaussian" }',
            'expected shape = "rectangular" or "triangular" or "arcsine". A Gaussian has a',
        ),
        (
            '{ low = "2 dBi", value = "1 dBi", high = "5 dBi" }',
            "found '2 dBi', '1 dBi', '5 dBi'; expected low, value and high in rising order",
        ),
        ('{ mean = "1 dBi" }', "found the unknown key 'mean'; expected a table { value, standard"),
    ],
)
def test_what_makes_no_sense_is_told_with_its_line(tmp_path, written, wanted):
    with pytest.raises(InputErrors) as caught:
        _load(tmp_path, written)
    (error,) = caught.value.errors
    assert error.field == "antenna.gain"
    assert error.line is not None
    assert wanted in str(error)


def test_a_band_that_leaves_the_range_of_its_kind_is_refused(tmp_path):
    loss = '{ value = "1 dB", standard_deviation = "1 dB" }'
    with pytest.raises(InputErrors) as caught:
        _load(tmp_path, f'"2 dBi"\ncable_loss = {loss}')
    assert "antenna.cable_loss: found a value that reaches from -0.96 to 2.96" in str(caught.value)
    assert "write { low, value, high }" in str(caught.value)


def test_a_stated_metal_has_one_spread(tmp_path):
    def metal(text):
        path = tmp_path / "metal.toml"
        head, _, rest = starter().partition('kind = "plate"')
        tail = rest[rest.index("# Slots and holes") :]
        path.write_text(f'{head}kind = "attenuation"\n{text}\n{tail}', encoding="utf-8")
        return load_scenario(path).metal

    assert metal('attenuation = ["2 dB", "9 dB"]').attenuation.band == (2.0, 9.0)
    assert metal('attenuation = "6 dB"\nspread = "3 dB"').spread == 3.0
    for text in ('attenuation = ["2 dB", "9 dB"]\nspread = "3 dB"', 'attenuation = "6 dB"'):
        with pytest.raises(InputErrors, match="one way to say it"):
            metal(text)
