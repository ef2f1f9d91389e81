"""Every demo prop and every faulty one gives every picture, text and report, without a complaint.

Pages are read as the WHATWG standard has HTML, pictures as XML; neither loads anything.
"""

import csv
import io
import json
import re
import socket
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from behaviour.cli import main
from behaviour.commands.answering import BROKEN, NOT_DECIDED, OK
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from tests.firmware.props import spec
from tests.report.html_pages import FETCHED, read_strictly

PROPS = sorted(str(path) for path in Path("specs").glob("**/*.yaml"))
LIMIT = "1"
"""Seconds for the check of a report: how far it comes is not asked here."""

SVG = "{http://www.w3.org/2000/svg}"
INSIDE = re.compile(r'href="#[^"]*"|url\(#[^)]*\)')
"""Places on the page itself."""


def loads(text: str) -> list[str]:
    """List what a page or picture would load from anywhere, or run."""
    return FETCHED.findall(INSIDE.sub("", text))


class Asking:
    """Asks for all there is of one file; `name` is its path."""

    def __init__(self, name: str, directory: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.name, self.directory, self.capsys = name, directory, capsys
        self.mark = fingerprint(self.model)

    @property
    def model(self) -> Model:
        return spec(self.name.removeprefix("specs/").removesuffix(".yaml"))

    def text(self, command: str, *options: str, ends: tuple[int, ...] = (OK,)) -> str:
        """Give what a command writes; it must end well and complain of nothing."""
        out = self.directory / "out"
        code = main([command, self.name, *options, "--out", str(out)])
        assert self.capsys.readouterr().err == ""
        assert code in ends
        return out.read_text(encoding="utf-8")

    def printed(self, command: str, *options: str) -> str:
        code = main([command, self.name, *options])
        out, err = self.capsys.readouterr()
        assert (code, err) == (OK, "")
        return out

    def page(self, text: str) -> None:
        """Assert that a page is one, carries the fingerprint, and loads nothing."""
        read_strictly(text)
        assert self.mark in text
        assert loads(text) == []

    def picture(self, text: str) -> None:
        root = ET.fromstring(text)
        assert root.tag == f"{SVG}svg"
        assert {each.tag for each in root.iter()} >= {f"{SVG}text"}
        assert loads(text) == []


@pytest.fixture(params=PROPS)
def asking(
    request: pytest.FixtureRequest,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> Asking:
    """Give what asks of each file; whoever asks another computer fails."""

    def refuses(*_: Any) -> None:
        pytest.fail("something outside the file was asked for")

    monkeypatch.setattr(socket.socket, "connect", refuses)
    return Asking(request.param, tmp_path, capsys)


def test_every_picture_and_text_and_the_report_come_without_a_complaint(asking: Asking) -> None:
    asking.picture(asking.text("draw", "--unchecked", "--as", "svg"))
    asking.picture(asking.text("draw", "--wiring", "--as", "svg"))
    for walkthrough in asking.model.walkthroughs:
        asking.picture(asking.text("draw", "--timing", walkthrough.name, "--as", "svg"))
    ET.fromstring(asking.text("draw", "--as", "scxml"))
    assert asking.text("draw", "--unchecked", "--as", "dot").startswith("digraph")

    for command in ("tell", "table", "card"):
        assert asking.mark in asking.text(command, "--as", "markdown")
        asking.page(asking.text(command, "--as", "html"))
    rows = list(csv.reader(io.StringIO(asking.text("table", "--as", "csv"))))
    assert rows[0][:3] == ["region", "state", "drives"]
    assert asking.mark in rows[-1][0]

    assert asking.mark in asking.printed("numbers")
    assert json.loads(asking.printed("numbers", "--as", "json"))["fingerprint"] == asking.mark
    asking.page(asking.printed("numbers", "--as", "html"))
    assert asking.mark in asking.printed("bench")

    asking.page(asking.text("report", "--limit", LIMIT, ends=(OK, BROKEN, NOT_DECIDED)))


def test_what_is_fetched_from_outside_is_seen_and_a_place_on_the_page_is_not() -> None:
    assert loads('<a href="#s1">1</a><path fill="url(#stripes)"/>') == []
    assert loads('<a href="https://example.org">1</a>') == ["href="]
    assert loads('<image href="a.png"/><img src="b.png"><p style="background: url(c.png)">') == [
        "href=",
        "src=",
        "url(",
    ]
