"""The sentences of a behaviour as Markdown: numbered, with room for initials behind each."""

from collections.abc import Iterator
from itertools import count

from behaviour.cautions import CAUTIONS
from behaviour.model import Model
from behaviour.report.markdown import bullets, copy_of, plain
from behaviour.source import Source
from behaviour.tell.sentences import sheet_of
from behaviour.tell.sheet import Section

ROOM = "____"
READ = (
    "Read it aloud, sentence by sentence, and put your initials behind each that is what you mean."
)
ASKED = "What it does not say"
BEFORE = "Before you switch anything on"
SIGNED = "Read and meant so, all of it: ________________   date: __________"


def sentences_markdown(source: Source, model: Model) -> str:
    """Write the sentences of a behaviour as Markdown."""
    sheet = sheet_of(model)
    numbers = count(1)
    parts = [f"# {plain(sheet.prop)}\n\n{copy_of(source, model)}\n\n{READ}\n"]
    for section in sheet.sections:
        parts += _section(section, numbers, 2)
    if sheet.questions:
        lines = "".join(f"{next(numbers)}. {plain(each)}\n" for each in sheet.questions)
        parts.append(f"\n## {ASKED}\n\n{lines}")
    parts.append(f"\n{SIGNED}\n")
    if any(output.hazard for output in model.outputs):
        parts.append(f"\n## {BEFORE}\n\n{bullets(CAUTIONS)}")
    return "".join(parts)


def _section(section: Section, numbers: "count[int]", level: int) -> Iterator[str]:
    if section.is_empty:
        return
    yield f"\n{'#' * level} {plain(section.title)}\n"
    if section.remark:
        yield f"\n{plain(section.remark)}\n"
    if section.lines:
        yield "\n"
    for line in section.lines:
        yield f"{next(numbers)}. {plain(line)} {ROOM}\n"
    for part in section.parts:
        yield from _section(part, numbers, level + 1)
