"""From a behaviour file's text to the model: the phases of the language, in their order.

It knows nothing of files on disk, nor of what is done with a model. What each phase needs is only
imported when a file is read, so that the command line starts without it.
"""

from behaviour.findings import Mistake
from behaviour.model import Model
from behaviour.source import Source


def read_model(source: Source) -> tuple[Model | None, tuple[Mistake, ...]]:
    """Read a file's text. There is a model, or there is a mistake; no text raises an error.

    Every mistake of the file is given at once, in the order of their places, each cause once.
    """
    from behaviour.language.decode import decode
    from behaviour.language.nodes import Places
    from behaviour.language.reader import read_nodes
    from behaviour.language.reading import Reading
    from behaviour.language.resolve import resolve

    reading = Reading(Places(source.text))
    root = read_nodes(reading.places, reading.mistakes)
    document = None if root is None else decode(reading, root)
    model = None if document is None else resolve(reading, document, source.name)
    mistakes = reading.mistakes.listed()
    return (None, mistakes) if mistakes else (model, ())
