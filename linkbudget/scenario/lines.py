"""On which line of a TOML file each key stands."""

from __future__ import annotations

from collections.abc import Iterator

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

KeyPath = tuple[str | int, ...]
LineMap = dict[KeyPath, int]

DEEPEST_NESTING = 40  # nodes of the syntax tree; a scenario needs fewer than ten


def syntax_tree(text: str) -> Node:
    """Parse TOML into a syntax tree that knows its lines; faulty text gives a tree too."""
    return Parser(Language(tree_sitter_toml.language())).parse(text.encode()).root_node


def too_deep(tree: Node) -> int | None:
    """Return the line on which the nesting grows beyond any sense, or None.

    Notes
    -----
    Lists in lists and keys of many parts cost a parser time and memory that grow with the
    square of their depth, so this is asked before anything else reads the text.
    """
    cursor = tree.walk()
    while True:
        if cursor.depth > DEEPEST_NESTING and cursor.node is not None:
            return cursor.node.start_point.row + 1
        if cursor.goto_first_child() or cursor.goto_next_sibling():
            continue
        while cursor.goto_parent():
            if cursor.goto_next_sibling():
                break
        else:
            return None


def line_map(tree: Node) -> LineMap:
    r"""Return the line, counted from 1, of every table, key and list element.

    Parameters
    ----------
    tree : Node
        From ``syntax_tree``, of text that is valid TOML.

    Examples
    --------
    >>> lines = line_map(syntax_tree('[goal]\ndistance = "10 m"\n[[scans]]\nfile = "a.csv"'))
    >>> lines["goal", "distance"], lines["scans", 0, "file"]
    (2, 4)
    """
    lines: LineMap = {}
    lengths: dict[KeyPath, int] = {}
    for node in tree.named_children:
        if node.type == "pair":
            _note_pair(node, (), lines)
        elif node.type in ("table", "table_array_element"):
            path = _table_path(node, lengths)
            _note(path, node, lines)
            for child in node.named_children[1:]:
                if child.type == "pair":
                    _note_pair(child, path, lines)
    return lines


def line_of(lines: LineMap, path: KeyPath) -> int | None:
    """Return the line of a key, or of the nearest table round it; None where nothing is known."""
    for end in range(len(path), 0, -1):
        if path[:end] in lines:
            return lines[path[:end]]
    return None


def dotted(path: KeyPath) -> str:
    """Print a path as a user would name it, list elements counted from 1.

    Examples
    --------
    >>> dotted(("scans", 0, "corrections", 1, "role"))
    'scans[1].corrections[2].role'
    """
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part + 1}]"
        else:
            text += ("." if text else "") + (part if part.isprintable() else repr(part))
    return text


def _table_path(node: Node, lengths: dict[KeyPath, int]) -> KeyPath:
    """Resolve a table's heading: names that are lists of tables mean their last element."""
    path: KeyPath = ()
    keys = list(_keys(node.named_children[0]))
    for position, key in enumerate(keys, start=1):
        path = (*path, key)
        if position == len(keys) and node.type == "table_array_element":
            lengths[path] = lengths.get(path, 0) + 1
        if path in lengths:
            path = (*path, lengths[path] - 1)
    return path


def _note(path: KeyPath, node: Node, lines: LineMap) -> None:
    """Keep the first line of a path, and of every table that it opens on the way."""
    for end in range(1, len(path) + 1):
        lines.setdefault(path[:end], node.start_point.row + 1)


def _note_pair(pair: Node, table: KeyPath, lines: LineMap) -> None:
    path = (*table, *_keys(pair.named_children[0]))
    _note(path, pair, lines)
    _note_value(pair.named_children[-1], path, lines)


def _note_value(value: Node, path: KeyPath, lines: LineMap) -> None:
    if value.type == "inline_table":
        for child in value.named_children:
            if child.type == "pair":
                _note_pair(child, path, lines)
    elif value.type == "array":
        elements = [child for child in value.named_children if child.type != "comment"]
        for index, element in enumerate(elements):
            _note((*path, index), element, lines)
            _note_value(element, (*path, index), lines)


def _keys(key: Node) -> Iterator[str]:
    """Split a key into its parts; quoted parts lose their quotation marks."""
    if key.type == "dotted_key":
        for child in key.named_children:
            yield from _keys(child)
    else:
        text = (key.text or b"").decode()
        yield text[1:-1] if key.type == "quoted_key" else text
