"""The forms in which the sentences of a behaviour come."""

from behaviour.report.sentences_html import sentences_html
from behaviour.report.sentences_markdown import sentences_markdown

WRITERS = {"markdown": sentences_markdown, "html": sentences_html}
