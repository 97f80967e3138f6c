"""The JSON Schema of a scenario, for editors and for messages that know keys and examples."""

from __future__ import annotations

import functools
import json
from dataclasses import dataclass
from typing import Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from linkbudget.scenario.lines import KeyPath
from linkbudget.scenario.models import Scenario

Node = dict[str, Any]


class _ForToml(GenerateJsonSchema):
    """TOML has no null: an optional key is one that may be absent."""

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        node = super().default_schema(schema)
        if not node.get("default", False):
            node.pop("default", None)
        return node

    def field_title_should_be_set(self, schema: object) -> bool:
        return False


@functools.cache
def json_schema() -> Node:
    """Return the JSON Schema (draft 2020-12) of a scenario file.

    Returns
    -------
    dict
        As shipped in ``data/scenario.schema.json``; not to be changed in place.

    Examples
    --------
    >>> json_schema()["required"]
    ['product', 'variants']
    """
    schema = Scenario.model_json_schema(by_alias=True, schema_generator=_ForToml)
    head: Node = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "linkbudget scenario",
    }
    shared: Node = {}
    schema = _shared(schema, shared)
    schema["$defs"] |= shared
    return head | {key: value for key, value in schema.items() if key != "title"}


def _shared(node: Any, found: Node) -> Any:  # noqa: ANN401 -- any part of a schema
    """Put the long schema of each kind of uncertain value in one place, and refer to it."""
    if isinstance(node, list):
        return [_shared(one, found) for one in node]
    if not isinstance(node, dict):
        return node
    name = node.get("title")
    if isinstance(name, str) and "anyOf" in node:
        found[name] = {"anyOf": node["anyOf"]}
        rest = {key: value for key, value in node.items() if key not in ("title", "anyOf")}
        return {"$ref": f"#/$defs/{name}"} | rest
    return {key: _shared(value, found) for key, value in node.items()}


def json_schema_text() -> str:
    """Return the JSON Schema as shipped."""
    return json.dumps(json_schema(), indent=1, ensure_ascii=False) + "\n"


@dataclass(frozen=True, slots=True)
class Spot:
    """What the schema says of one place in a scenario.

    Parameters
    ----------
    path : tuple of str or int
        Keys and list positions from the root, as they stand in the file.
    node : dict
        Schema of the place itself; empty where the schema knows no such place.
    parent : dict
        Schema of the table or list round it.
    kinds : dict
        Schema of the choice of kinds to which that table belongs; empty for a plain table.
    """

    path: KeyPath
    node: Node
    parent: Node
    kinds: Node

    @property
    def kind(self) -> str:
        """Key and word that made the table round the place what it is; "" for a plain table."""
        tag = self.kinds.get("discriminator", {}).get("propertyName", "")
        word = self.parent.get("properties", {}).get(tag, {}).get("const")
        return f'{tag} = "{word}"' if word else ""

    @property
    def keys_of_other_kinds(self) -> set[str]:
        """Keys that the table might hold if it were of another kind."""
        return _keys_below(self.kinds, inner=True)

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys that the table round the place may hold."""
        return tuple(self.parent.get("properties", ()))

    @property
    def words(self) -> tuple[str, ...]:
        """Words that may stand here; empty where it is no choice."""
        if "const" in self.node:
            return (str(self.node["const"]),)
        if "discriminator" in self.node:
            tag = self.node["discriminator"]["propertyName"]
            tags = (_resolved(kind)["properties"][tag] for kind in self.node["oneOf"])
            return tuple(word for node in tags for word in node.get("enum") or (node["const"],))
        return tuple(str(word) for word in self.node.get("enum", ()))

    @property
    def example(self) -> str:
        """What might stand here, written in TOML."""
        examples = self.node.get("examples") or list(self.words) or ["…"]
        return json.dumps(examples[0], ensure_ascii=False)

    @property
    def is_table(self) -> bool:
        """Whether a table stands here, or a list of tables."""
        inner = _resolved(self.node.get("items", self.node))
        return "properties" in inner or "oneOf" in inner or "additionalProperties" in inner

    @property
    def description(self) -> str:
        """What the place means, in a sentence."""
        return str(self.node.get("description", ""))


def spot_at(location: KeyPath) -> Spot:
    """Find a place of the schema by the location that pydantic gives to an error.

    Parameters
    ----------
    location : tuple of str or int
        Where a table comes in several kinds, the kind stands in it after the table's own key.

    Examples
    --------
    >>> spot = spot_at(("metal", "tray", "skirt"))
    >>> spot.path, spot.example
    (('metal', 'skirt'), '"8 mm"')
    """
    path: KeyPath = ()
    node = parent = _resolved(json_schema())
    kinds: Node = {}
    chosen: Node = {}
    for step in location:
        mapping = node.get("discriminator", {}).get("mapping", {})
        if step in mapping:
            chosen, node = node, _resolved({"$ref": mapping[step]})
            continue
        kinds, chosen = chosen, {}
        parent, node = node, _inside(node, step)
        path = (*path, step)
    return Spot(path, node, parent, kinds)


def tables_with(key: str) -> tuple[str, ...]:
    """Name the tables that hold a key, for a user who wrote it in the wrong one."""
    found: dict[str, None] = {}
    for name, node in json_schema()["properties"].items():
        if key in _keys_below(node, inner=False):
            found[name] = None
    return tuple(found)


def _keys_below(node: Node, *, inner: bool) -> set[str]:
    node = _resolved(node)
    if "oneOf" in node:
        return {key for one in node["oneOf"] for key in _keys_below(one, inner=True)}
    if not inner and isinstance(node.get("additionalProperties"), dict):
        return _keys_below(node["additionalProperties"], inner=True)
    if not inner and "items" in node:
        return _keys_below(node["items"], inner=True)
    return set(node.get("properties", ()))


def _inside(node: Node, step: str | int) -> Node:
    if isinstance(step, int):
        prefix = node.get("prefixItems", ())
        return _resolved(prefix[step] if step < len(prefix) else node.get("items", {}))
    others = node.get("additionalProperties")
    other = others if isinstance(others, dict) else {}
    return _resolved(node.get("properties", {}).get(step, other))


def _resolved(node: Node) -> Node:
    """Follow a reference; what stands beside it (a description) wins."""
    if "$ref" not in node:
        return node
    target: Node = json_schema()["$defs"][node["$ref"].removeprefix("#/$defs/")]
    return target | {key: value for key, value in node.items() if key != "$ref"}
