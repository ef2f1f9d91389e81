"""The forms in which the sentences of a behaviour come."""

from collections.abc import Callable, Mapping

from behaviour.model import Model
from behaviour.report.sentences_html import sentences_html
from behaviour.report.sentences_markdown import sentences_markdown
from behaviour.report.sentences_pdf import sentences_pdf
from behaviour.source import Source

WRITERS: Mapping[str, Callable[[Source, Model], str | bytes]] = {
    "markdown": sentences_markdown,
    "html": sentences_html,
    "pdf": sentences_pdf,
}
