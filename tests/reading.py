"""Models for tests: read from text, or from the demo props."""

from pathlib import Path
from textwrap import dedent

from behaviour.language.load import read_model
from behaviour.model import Model
from behaviour.source import Source

ROOT = Path(__file__).parent.parent
SPECS = sorted((ROOT / "specs").glob("*.yaml"))
FAULTY = sorted((ROOT / "specs" / "faulty").glob("*.yaml"))


def source_of(path: str) -> Source:
    """Read a demo prop by its path below the project, such as `specs/fog-cannon.yaml`."""
    return Source(path, (ROOT / path).read_text(encoding="utf-8"))


def model_of(text: str) -> Model:
    """Read a model from text that must have no mistakes."""
    return model_in(Source("test.yaml", dedent(text)))


def model_in(source: Source) -> Model:
    model, mistakes = read_model(source)
    assert model is not None, [mistake.message for mistake in mistakes]
    return model


def spec(path: str) -> Model:
    return model_in(source_of(path))
