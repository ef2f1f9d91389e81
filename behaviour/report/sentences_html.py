"""The sentences of a behaviour as one page to print: numbered, with a box for initials by each."""

import re
from collections.abc import Iterator
from html import escape
from itertools import count

from behaviour.model import Model
from behaviour.report.page import PORTRAIT, cautions_part, copy_of, html_page
from behaviour.report.sentences_markdown import ASKED, BEFORE, READ, SIGNED
from behaviour.source import Source
from behaviour.tell.sentences import sheet_of
from behaviour.tell.sheet import Section, Sheet

SENTENCES_STYLE = """
ol { list-style: none; margin: 0; padding: 0; max-width: 60em; }
li.s { display: grid; grid-template-columns: 2.4em 1fr 4.5em; gap: .6em; break-inside: avoid;
  padding: .2em 0; }
li.s > .n { text-align: right; } li.s > .i { border-bottom: 1px solid; }
li.q { grid-template-columns: 2.4em 1fr; } li.q > .a { grid-column: 2; border-bottom: 1px solid;
  height: 1.8em; }
code { font-family: inherit; font-weight: 600; }
.sign { margin-top: 2em; }
"""


def sentences_html(source: Source, model: Model) -> str:
    """Lay the sentences of a behaviour out as a page of HTML."""
    sheet = sheet_of(model)
    parts = [copy_of(source, model), *sentences_parts(sheet)]
    parts += [f'<p class="sign">{escape(SIGNED)}</p>', *cautions_part(model, BEFORE)]
    return html_page(sheet.prop, parts, SENTENCES_STYLE + PORTRAIT)


def sentences_parts(sheet: Sheet) -> Iterator[str]:
    """Give what a page says in sentences, for this page and for others."""
    numbers = count(1)
    yield f"<p>{READ}</p>"
    for section in sheet.sections:
        yield from _section(section, numbers, 2)
    if sheet.questions:
        yield f"<h2>{ASKED}</h2>\n<ol>"
        for each in sheet.questions:
            yield (
                f'<li class="s q"><span class="n">{next(numbers)}.</span>'
                f'<span>{words_html(each)}</span><span class="a"></span></li>'
            )
        yield "</ol>"


def words_html(words: str) -> str:
    """Write plain words, with names between back-ticks as code."""
    parts = re.split(r"`([^`]*)`", words)
    return "".join(
        f"<code>{escape(part)}</code>" if place % 2 else escape(part)
        for place, part in enumerate(parts)
    )


def _section(section: Section, numbers: "count[int]", level: int) -> Iterator[str]:
    if section.is_empty:
        return
    yield f"<h{level}>{words_html(section.title)}</h{level}>"
    if section.remark:
        yield f"<p>{words_html(section.remark)}</p>"
    if section.lines:
        yield "<ol>"
        for line in section.lines:
            yield (
                f'<li class="s"><span class="n">{next(numbers)}.</span>'
                f'<span>{words_html(line)}</span><span class="i"></span></li>'
            )
        yield "</ol>"
    for part in section.parts:
        yield from _section(part, numbers, level + 1)
