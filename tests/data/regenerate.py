"""Write again what is made from the code: the JSON Schema, the key tables of the docs, the expected messages.

Run it after a change of the lesson file, then read the difference before you commit it:

    python tests/data/regenerate.py
"""

from __future__ import annotations

import json
from pathlib import Path

from phrasewright.errors import LessonError
from phrasewright.lesson import schema as schema_module
from phrasewright.lesson.forms import FORMS
from phrasewright.lesson.plan import plan
from phrasewright.lesson.read import decode_lesson, read_lesson
from phrasewright.lesson.reference import reference_markdown
from phrasewright.lesson.schema import json_schema

ROOT = Path(__file__).resolve().parents[2]
BROKEN = ROOT / "tests" / "data" / "broken"
SCHEMA = Path(schema_module.__file__).with_name("lesson.schema.json")
DOCS = ROOT / "docs" / "lesson-file.md"
FORMS_BEGIN, FORMS_END = "<!-- forms: made by tests/data/regenerate.py -->\n", "<!-- end of forms -->\n"
BEGIN, END = "<!-- keys: made by tests/data/regenerate.py -->\n", "<!-- end of keys -->\n"


def schema_text() -> str:
    """The committed JSON Schema."""
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


def docs_text(now: str) -> str:
    """The page with its key tables and forms made anew."""
    for begin, end, made in ((BEGIN, END, reference_markdown()), (FORMS_BEGIN, FORMS_END, forms_markdown())):
        before, _, rest = now.partition(begin)
        _, _, after = rest.partition(end)
        now = f"{before}{begin}\n{made}\n{end}{after}"
    return now


def forms_markdown() -> str:
    """A table of the ready forms."""
    rows = [f"| `{form.id}` | {form.name} | {form.bars.replace('|', ' &#124; ')} |" for form in FORMS.values()]
    return "\n".join(["| form | what it is | bars |", "| --- | --- | --- |", *rows]) + "\n"


def messages_of(file: Path) -> str:
    """What a teacher is told about a lesson file, from reading to planning; empty when nothing is wrong."""
    try:
        text = decode_lesson(file.read_bytes(), file.name)
        plan(read_lesson(text, file.name), file=file.name, text=text)
    except LessonError as error:
        return f"{error}\n"
    return ""


def main() -> None:
    """Write all of it."""
    SCHEMA.write_text(schema_text(), encoding="utf-8")
    DOCS.write_text(docs_text(DOCS.read_text(encoding="utf-8")), encoding="utf-8")
    for file in sorted(BROKEN.glob("*.toml")):
        file.with_suffix(".expected.txt").write_text(messages_of(file), encoding="utf-8")


if __name__ == "__main__":
    main()
