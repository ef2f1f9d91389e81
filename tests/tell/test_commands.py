"""`tell`, `table` and `card` print a sheet, or write it to a file of the kind its name says."""

import pytest

from behaviour.cli import main

CAROUSEL = "specs/confetti-carousel.yaml"


@pytest.mark.parametrize(
    ("command", "begins"),
    [
        ("tell", "# Confetti carousel\n"),
        ("table", "# Table of states: Confetti carousel\n"),
        ("card", "# Confetti carousel\n"),
    ],
)
def test_markdown_is_printed_where_nothing_else_is_said(command, begins, capsys) -> None:
    assert main([command, CAROUSEL]) == 0
    assert capsys.readouterr().out.startswith(begins)


@pytest.mark.parametrize(
    ("command", "name", "begins"),
    [
        ("tell", "x.html", "<!doctype html>"),
        ("table", "x.csv", "region,state,drives,lid becomes closed"),
        ("table", "x.htm", "<!doctype html>"),
        ("card", "x.html", "<!doctype html>"),
        ("card", "x.md", "# Confetti carousel"),
    ],
)
def test_the_name_of_a_file_says_its_kind(command, name, begins, tmp_path, capsys) -> None:
    out = tmp_path / name

    assert main([command, CAROUSEL, "--out", str(out)]) == 0
    assert out.read_text(encoding="utf-8").startswith(begins)
    assert capsys.readouterr().out == f"written: {out}\n"


def test_a_form_that_there_is_not_is_refused(capsys) -> None:
    assert main(["tell", CAROUSEL, "--as", "csv"]) == 2
    assert "csv" in capsys.readouterr().err


def test_a_file_with_a_mistake_is_not_told(tmp_path, capsys) -> None:
    path = tmp_path / "x.yaml"
    path.write_text("language: 1\n", encoding="utf-8")

    assert main(["tell", str(path)]) == 2
    assert capsys.readouterr().out == ""


def test_a_pdf_is_written_as_bytes(tmp_path, capsys) -> None:
    out = tmp_path / "x.pdf"

    assert main(["tell", CAROUSEL, "--out", str(out)]) == 0
    assert out.read_bytes().startswith(b"%PDF-")
    assert capsys.readouterr().out == f"written: {out}\n"
