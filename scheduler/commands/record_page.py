"""What the records that commands print with ``--json`` hold, as a page to read."""

import json
import textwrap
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

WIDTH = 100  # columns
WORDS = {"string": "text", "date": "day", "date-time": "time", "integer": "whole number",
         "boolean": "true or false", "object": "record", "array": "list"}  # fmt: skip


def record_page() -> str:
    """The schema in plain text: a part for each command, then those that several refer to."""
    text = (files("scheduler") / "words" / "records.schema.json").read_text(encoding="utf-8")
    schema = json.loads(text)
    parts = [f"{schema['title']}\n{textwrap.fill(schema['description'], WIDTH)}"]
    for name, part in schema["$defs"].items():
        head = f"{part.get('title', name)} ({_type(part)}): {part['description']}"
        parts.append("\n".join((textwrap.fill(head, WIDTH), *_fields(part, "  "))))
    return "\n\n".join(parts)


def _fields(part: dict[str, Any], indent: str) -> Iterator[str]:
    while "items" in part:
        part = part["items"]
    for name, field in part.get("properties", {}).items():
        missing = "" if name in part["required"] else ", may be missing"
        values = ", ".join(json.dumps(value) for value in field.get("enum", ()))
        line = f"{name} ({_type(field)}{missing}): {field['description']}"
        yield textwrap.fill(
            f"{line} One of {values}." if values else line,
            WIDTH,
            initial_indent=indent,
            subsequent_indent=f"{indent}    ",
            break_on_hyphens=False,
        )
        yield from _fields(field, f"{indent}  ")


def _type(part: dict[str, Any], plural: str = "") -> str:
    """The type in words; of what a list or a record by name holds, the plural."""
    if "$ref" in part:
        return f"{part['$ref'].rpartition('/')[2]}{plural}"
    inside = part.get("items") or part.get("additionalProperties")
    of = f" of {_type(inside, 's')}" if inside else ""
    kinds = [part["type"]] if isinstance(part["type"], str) else part["type"]
    words = (part.get("format", kind) if kind == "string" else kind for kind in kinds)
    return " or ".join(
        f"{WORDS.get(word, word)}{plural}{of if word in ('array', 'object') else ''}"
        for word in words
    )
