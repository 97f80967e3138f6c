"""A small link, of which a test states what it is about."""

import pytest

from linkbudget.scenario import load_scenario
from linkbudget.study import study

HEAD = """
[product]
name = "Clock"
family = "household"
equipment_class = "B"
mains = "none"
[[variants]]
name = "only"
radio = "radio"
"""
TABLES = {
    "radios.radio": """
band = ["2.40 GHz", "2.48 GHz"]
bandwidth = "1 MHz"
channels = 41
conducted_power = "10 dBm"
sensitivity = "-90 dBm"
""",
    "antenna": """
gain_toward = "0 dBi"
return_loss = "40 dB"
polarisation = "circular"
cable_loss = "0 dB"
""",
    "far_end": """
gain_toward = "0 dBi"
return_loss = "40 dB"
polarisation = "linear"
body_loss = "0 dB"
cable_loss = "0 dB"
""",
    "room": 'kind = "open air"\n',
    "goal": """
distance = "10 m"
reliability = "99 %"
fading = "none"
""",
}


@pytest.fixture
def small(tmp_path):
    """Read the small scenario with whole tables replaced, and more text behind."""

    def make(more="", **tables):
        parts = TABLES | {("radios.radio" if k == "radio" else k): v for k, v in tables.items()}
        text = HEAD + "".join(f"[{name}]\n{body.strip()}\n" for name, body in parts.items())
        path = tmp_path / "small.toml"
        path.write_text(f"{text}\n{more}", encoding="utf-8")
        return load_scenario(path)

    return make


@pytest.fixture
def link(small):
    """The link of the small scenario."""

    def make(more="", **tables):
        return study(small(more, **tables), emissions=False, refuse=True).links[0]

    return make
