"""The OpenAPI document of the service: put together from its sources as the program does it, and read by the checks."""

import copy
import json
import pathlib

SOURCES = pathlib.Path(__file__).resolve().parent.parent.parent / "service/http/openapi"
METHODS = ("get", "put", "post", "delete", "patch")


def merged(into, more, where=""):
    """Members of `more` put into `into`; a member that both have must be an object in both."""
    for name, value in more.items():
        place = f"{where}/{name}"
        if name not in into:
            into[name] = value
        elif isinstance(value, dict) and isinstance(into[name], dict):
            merged(into[name], value, place)
        else:
            raise ValueError(f"{place} stands in two files")
    return into


def from_sources():
    whole = {}
    for file in sorted(SOURCES.glob("*.json")):
        merged(whole, json.loads(file.read_text(encoding="utf-8")))
    return whole


def at(document, pointer):
    """What a reference such as #/components/schemas/Run means; KeyError where it means nothing."""
    value = document
    for name in pointer.removeprefix("#/").split("/"):
        value = value[name.replace("~1", "/").replace("~0", "~")]
    return value


def meant(document, value):
    """The object itself, or what it refers to."""
    while isinstance(value, dict) and "$ref" in value:
        value = at(document, value["$ref"])
    return value


def operations(document):
    """Each (METHOD, path, operation)."""
    for path, item in document["paths"].items():
        for method in METHODS:
            if method in item:
                yield method.upper(), path, item[method]


def references(value, place="#"):
    """Each ($ref, where it stands)."""
    if isinstance(value, dict):
        if isinstance(value.get("$ref"), str):
            yield value["$ref"], place
        for name, member in value.items():
            yield from references(member, f"{place}/{name}")
    elif isinstance(value, list):
        for index, member in enumerate(value):
            yield from references(member, f"{place}/{index}")


def closed(document, schema, alone=True):
    """A schema without references that takes no member it does not name. The published one lets clients meet new members;
    whoever adds one to an answer must add it here."""
    schema = meant(document, schema)
    if not isinstance(schema, dict):
        return schema
    result = copy.copy(schema)
    for list_of in ("allOf", "anyOf", "oneOf"):
        if list_of in schema:
            inner = alone and list_of != "allOf" and "properties" not in schema
            result[list_of] = [closed(document, one, inner) for one in schema[list_of]]
    if "properties" in schema:
        result["properties"] = {name: closed(document, one) for name, one in schema["properties"].items()}
    for member in ("items", "additionalProperties"):
        if isinstance(schema.get(member), dict):
            result[member] = closed(document, schema[member])
    if alone and "additionalProperties" not in schema and ("properties" in schema or "allOf" in schema):
        result["unevaluatedProperties"] = False
    return result


if __name__ == "__main__":
    print(json.dumps(from_sources(), ensure_ascii=False))
