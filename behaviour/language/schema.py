"""The form of a behaviour file as a JSON Schema, for editors, made of the reader's own tables.

It says less than the reader, which alone knows what the names of a file stand for: what it refuses
is wrong, and what it lets pass may still be.
"""

import json
from typing import Any, assert_never

from behaviour.language.decode import FILE, LANGUAGE
from behaviour.language.names import (
    C_WORDS,
    CONDITION_WORDS,
    CPP_WORDS,
    LONGEST_NAME,
    OWN_WORDS,
)
from behaviour.language.shapes import Again, Choice, Either, Group, ListOf, Named, Shape, Text

Schema = dict[str, Any]

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema() -> Schema:
    """Give the whole schema."""
    definitions: dict[str, Schema] = {}
    top = _shape(FILE, definitions)
    definitions["reserved"] = {
        "enum": sorted(C_WORDS | CPP_WORDS | CONDITION_WORDS | OWN_WORDS),
        "description": "words that cannot be names",
    }
    title = f"a behaviour file of tablework, language {LANGUAGE}"
    return {"$schema": DIALECT, "title": title, **top, "$defs": definitions}


def schema_text() -> str:
    """Give the schema as the text of a file."""
    return json.dumps(schema(), indent=1, ensure_ascii=False) + "\n"


def _shape(shape: Shape, definitions: dict[str, Schema]) -> Schema:
    match shape:
        case Text():
            return _text(shape)
        case Choice(options=options):
            return {"enum": list(options)}
        case ListOf(item=item, least=least, most=most):
            limits = {"minItems": least} | ({} if most is None else {"maxItems": most})
            return {"type": "array", "items": _shape(item, definitions), **limits}
        case Named(item=item, keys=keys, least=least):
            return {
                "type": "object",
                "propertyNames": _shape(keys, definitions),
                "additionalProperties": _shape(item, definitions),
                "minProperties": least,
            }
        case Group(thing=thing):
            if thing not in definitions:
                definitions[thing] = {}
                definitions[thing] = _group(shape, definitions)
            return _reference(thing)
        case Again(thing=thing):
            return _reference(thing)
        case Either(shapes=shapes):
            return {"anyOf": [_shape(each, definitions) for each in shapes]}
        case _:
            assert_never(shape)


def _text(shape: Text) -> Schema:
    """Say what a text may be; one that YAML takes for a number is held to no pattern then."""
    found: Schema = {"type": ["string", "number"] if shape.is_number else "string"}
    if shape.wants:
        found["description"] = shape.wants
    if shape.pattern:
        found["pattern"] = f"^{shape.pattern}$"
    elif not shape.is_number:
        found["minLength"] = 1
    if shape.is_name:
        found |= {"maxLength": LONGEST_NAME, "not": _reference("reserved")}
    return found


def _group(shape: Group, definitions: dict[str, Schema]) -> Schema:
    return {
        "type": "object",
        "properties": {key: _shape(value, definitions) for key, value in shape.keys.items()},
        "required": list(shape.needed),
        "additionalProperties": False,
    }


def _reference(thing: str) -> Schema:
    return {"$ref": f"#/$defs/{thing.replace(' ', '%20')}"}
