"""What the user writes: the scenario file, its loading, its checks, and what is built from it."""

from linkbudget.scenario.building import (
    allowed_of,
    enclosure_of,
    plastics_of,
    record_of,
    scene_of,
)
from linkbudget.scenario.fields import Money, StatedCorrection
from linkbudget.scenario.link_models import Antenna, FarEnd, Goal, Radio
from linkbudget.scenario.loading import load_scenario
from linkbudget.scenario.metal_checks import key_of
from linkbudget.scenario.models import (
    NO_RADIO,
    Booking,
    Correction,
    Product,
    Scan,
    Scenario,
    Variant,
)
from linkbudget.scenario.schema import json_schema, json_schema_text
from linkbudget.scenario.starting import starter
from linkbudget.scenario.variations import (
    Variation,
    Varied,
    load_varied,
    stated_text,
    variation,
)

__all__ = [
    "NO_RADIO",
    "Antenna",
    "Booking",
    "Correction",
    "FarEnd",
    "Goal",
    "Money",
    "Product",
    "Radio",
    "Scan",
    "Scenario",
    "StatedCorrection",
    "Variant",
    "Variation",
    "Varied",
    "allowed_of",
    "enclosure_of",
    "json_schema",
    "json_schema_text",
    "key_of",
    "load_scenario",
    "load_varied",
    "plastics_of",
    "record_of",
    "scene_of",
    "starter",
    "stated_text",
    "variation",
]
