"""The same scenario in other units and under other names gives the same result."""

import pytest

PLAIN = {
    "radio": """
band = ["2.40 GHz", "2.48 GHz"]
bandwidth = "1 MHz"
channels = 41
conducted_power = ["10 dBm", "13 dBm"]
noise_figure = { value = "6 dB", within = "2 dB", shape = "triangular" }
required_snr = "10 dB"
hopping = true
retry_interval = "5 ms"
duty_cycle = "5 %"
""",
    "antenna": """
gain = { value = "2.15 dBi", standard_deviation = "1 dB" }
efficiency = ["40 %", "70 %"]
return_loss = "9 dB"
polarisation = "linear"
""",
    "far_end": """
gain_toward = ["-2.85 dBi", "3.15 dBi"]
polarisation = "linear"
body_loss = { low = "0 dB", value = "3 dB", high = "8 dB" }
""",
    "room": """
kind = "over ground"
height = "1.5 m"
far_height = "800 mm"
ground = "concrete"
polarisation = "vertical"
delay_spread = "100 ns"
""",
    "goal": """
distance = "10 m"
reliability = "95 %"
fading = "rayleigh and log-normal"
shadowing_sigma = "3 dB"
latency = "30 ms"
body_distance = "0.2 m"
""",
}
MORE = """
[metal]
kind = "plate"
material = "copper"
length = "200 mm"
width = "120 mm"
thickness = "1.5 mm"
antenna_depth = "12 mm"
antenna_to_edge = "25 mm"
[[interference]]
kind = "wireless LAN"
distance = "8 m"
radiated_power = "10 dBm"
activity = "20 %"
"""
# the same values, as another engineer would write them
OTHERS = (
    ('["2.40 GHz", "2.48 GHz"]', '["2400 MHz", "2480000 kHz"]'),
    ('["10 dBm", "13 dBm"]', '["10 mW", "-17 dBW"]'),
    ('"1 MHz"', '"1000 kHz"'),
    ('"2.15 dBi"', '"0 dBd"'),
    ('["-2.85 dBi", "3.15 dBi"]', '["-5 dBd", "1 dBd"]'),
    ('"1.5 m"', '"150 cm"'),
    ('"800 mm"', '"0.8 m"'),
    ('"100 ns"', '"0.1 us"'),
    ('distance = "10 m"', 'distance = "1000 cm"'),
    ('"5 ms"', '"5000 us"'),
    ('"0.2 m"', '"200 mm"'),
    ('"200 mm"\nwidth', '"20 cm"\nwidth'),
    ('"12 mm"', '"0.012 m"'),
    ('"10 dBm"\nactivity', '"10 mW"\nactivity'),
)


def _numbers(found):
    """Every number of the answer that a report prints."""
    told = []
    for budget, reach, forecast in found.comparison.cases:
        values = [line.value for line in budget.lines]
        values += [budget.received, budget.margin, budget.fade_allowance, budget.desensitisation]
        for value in (*values, reach.distance, found.comparison.lost_m):
            told += [value.value, *value.band]
        told.append(forecast.chance.value)
        told += [driver.share for driver in forecast.drivers]
    told += [row.margin.value for row in found.power if row.margin is not None]
    return [*told, found.delivery.chance.median.value, *found.curve.without_dbm]


@pytest.fixture
def plain(link):
    """The scenario as it stands above."""
    return _numbers(link(MORE, **PLAIN))


def test_other_units_change_nothing(link, plain, monkeypatch):
    tables, more, done = dict(PLAIN), MORE, 0
    for old, new in OTHERS:
        for name, text in tables.items():
            done += old in text
            tables[name] = text.replace(old, new)
        done += old in more
        more = more.replace(old, new)
    assert done >= len(OTHERS)
    assert _numbers(link(more, **tables)) == pytest.approx(plain, rel=1e-9, abs=1e-9)


def test_other_names_and_another_order_change_nothing(link, plain):
    tables = {name: f'description = "seen otherwise"\n{text}' for name, text in PLAIN.items()
              if name in ("radio", "antenna", "far_end")}  # fmt: skip
    turned = {name: "\n".join(reversed(text.strip().splitlines())) for name, text in tables.items()}
    assert _numbers(link(MORE, **(PLAIN | turned))) == pytest.approx(plain, rel=1e-9, abs=1e-9)
