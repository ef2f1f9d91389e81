"""A page of HTML read by the parser of the standard, and what it would load or lean on."""

import re

import html5lib

FETCHED = re.compile(r"""\b(?:src|href|action|data)=|url\(|@import|<script|<link|\bon[a-z]+=""")
"""What would load something from outside, or run."""


def read_strictly(page: str) -> None:
    """Raise where a page is not HTML as the WHATWG standard has it."""
    html5lib.HTMLParser(strict=True).parse(page)


def loads(page: str) -> list[str]:
    """List what a page would load from anywhere, or run; nothing, for one file."""
    return FETCHED.findall(page)
