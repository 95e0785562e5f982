"""The reference of lesson keys as Markdown, made from the schema; docs/lesson-file.md carries it."""

from __future__ import annotations

from typing import Any

from phrasewright.lesson.schema import SECTIONS, Section, WrittenMotif, json_schema

_TYPES = {
    "string": "text",
    "integer": "whole number",
    "number": "number",
    "array": "list",
    "object": "block",
    "boolean": "true or false",
}
_LIMITS = ("minimum", "maximum", "minItems", "maxItems", "maxLength")


def reference_markdown() -> str:
    """A table of keys for every section, in file order."""
    definitions = json_schema()["$defs"]
    blocks = [_section(f"[{name}]", model, definitions) for name, model in SECTIONS.items()]
    blocks.insert(list(SECTIONS).index("motifs") + 1, _section("[[motifs.written]]", WrittenMotif, definitions))
    return "\n".join(blocks)


def _section(heading: str, model: type[Section], definitions: dict[str, Any]) -> str:
    schema = definitions[model.__name__]
    required = schema.get("required", [])
    lines = [
        f"### `{heading}`",
        "",
        (model.__doc__ or "").strip(),
        "",
        "| key | value | when left out | meaning |",
        "| --- | --- | --- | --- |",
    ]
    for key, entry in schema["properties"].items():
        left_out = "required" if key in required else _default(entry)
        lines.append(f"| `{key}` | {_value(entry)} | {left_out} | {_cell(_meaning(entry))} |")
    return "\n".join(lines) + "\n"


def _meaning(entry: dict[str, Any]) -> str:
    choices = [entry, entry.get("items", {}), *entry.get("anyOf", [])]
    names: list[str] = next((choice["enum"] for choice in choices if "enum" in choice), [])
    listed = f" One of {', '.join(f'`{name}`' for name in names)}." if names else ""
    examples = entry.get("examples", [])
    named = f" For a guitar: {', '.join(f'`{name}`' for name in examples)}." if examples else ""
    return f"{entry['description']}{listed}{named}"


def _value(entry: dict[str, Any]) -> str:
    kind = _TYPES[entry.get("type", "object")]
    items = entry.get("items", {})
    if kind == "list":
        kind = f"list of {_TYPES[items.get('type', 'object')]}s".replace("texts", "text")
    low, high = (entry.get(limit, items.get(limit)) for limit in ("minimum", "maximum"))
    return f"{kind}, {low:g} to {high:.10g}" if low is not None and high is not None else kind


def _default(entry: dict[str, Any]) -> str:
    default = entry.get("default")
    if default in (None, "", []):
        return ""
    if isinstance(default, list):
        return f"`[{', '.join(_toml(item) for item in default)}]`"
    return f"`{_toml(default)}`"


def _toml(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value)


def _cell(text: str) -> str:
    return text.replace("|", "\\|")
