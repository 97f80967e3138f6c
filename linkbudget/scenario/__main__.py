"""``python -m linkbudget.scenario`` writes the shipped JSON Schema anew."""

from pathlib import Path

from linkbudget.scenario.schema import json_schema_text

(Path(__file__).parents[1] / "data" / "scenario.schema.json").write_text(
    json_schema_text(), encoding="utf-8"
)
