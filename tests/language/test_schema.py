"""The schema that editors are given lets every behaviour file pass, and refuses many mistakes.

Outside: JSON Schema 2020-12, by the `jsonschema` library.
"""

import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from behaviour.language.schema import schema

ROOT = Path(__file__).parents[2]
GOOD = sorted(
    [
        *ROOT.glob("specs/*.yaml"),
        *ROOT.glob("specs/faulty/*.yaml"),
        *ROOT.glob("tests/corpus/near_misses/*.yaml"),
    ]
)
MISTAKEN = sorted((ROOT / "tests/corpus/mistakes").glob("*.yaml"))

VALIDATOR = Draft202012Validator(schema())


class AsEditorsRead(yaml.SafeLoader):
    """Takes scalars as YAML 1.2 does: `off` and `no` are texts, `3` is a number."""


AsEditorsRead.yaml_implicit_resolvers = {}
AsEditorsRead.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile("true|false"), list("tf"))
AsEditorsRead.add_implicit_resolver(
    "tag:yaml.org,2002:int", re.compile(r"[-+]?[0-9]+$"), list("-+0123456789")
)
AsEditorsRead.add_implicit_resolver(
    "tag:yaml.org,2002:float", re.compile(r"[-+]?[0-9]+\.[0-9]+$"), list("-+0123456789")
)


def wrongs(path: Path, loader: type[Any]) -> list[str]:
    data = yaml.load(path.read_text(encoding="utf-8"), loader)
    return [f"{error.json_path}: {error.message}" for error in VALIDATOR.iter_errors(data)]


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(schema())


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
def test_every_file_that_reads_fits_the_schema(path: Path) -> None:
    assert wrongs(path, yaml.BaseLoader) == []
    assert wrongs(path, AsEditorsRead) == []


ONLY_THE_READER_SEES = [
    "conditions_and_names",
    "loop_0_ms",
    "loop_1_5_ms",
    "loop_unknown",
    "moves",
    "one_name_for_two_things",
]
"""Mistakes in what names stand for, in what conditions say, and in how large a time is."""


def test_of_31_mistaken_files_that_are_yaml_25_do_not_fit() -> None:
    refused, passed = [], []
    for path in MISTAKEN:
        try:
            (refused if wrongs(path, yaml.BaseLoader) else passed).append(path.stem)
        except yaml.YAMLError:
            continue
    assert len(refused) == 25
    assert passed == ONLY_THE_READER_SEES
