"""The OpenAPI document of the service: put together from its sources as the program does it, and read by the checks."""

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


def put_together(document, schema):
    """An object's schema with the parts of its `allOf` in it; the checker would go through nested ones again and again."""
    schema = dict(meant(document, schema))
    for part in schema.pop("allOf", []):
        part = put_together(document, part)
        unknown = set(part) - {"type", "description", "required", "properties", "additionalProperties"}
        if unknown:
            raise ValueError(f"a part of an allOf has {sorted(unknown)}, which is not put together here")
        properties = dict(part.get("properties", {}))
        for name, value in schema.get("properties", {}).items():
            properties[name] = {"allOf": [properties[name], value]} if name in properties else value
        schema.update(type="object", properties=properties)
        schema["required"] = sorted(set(schema.get("required", [])) | set(part.get("required", [])))
        if "additionalProperties" in part:
            schema["additionalProperties"] = part["additionalProperties"]
    return schema


def closed(document, schema):
    """A schema without references that takes no member it does not name. The published one lets clients meet new members;
    whoever adds one to an answer must add it here."""
    schema = meant(document, schema)
    if "allOf" in schema and all("properties" in put_together(document, part) for part in schema["allOf"]):
        schema = put_together(document, schema)
    result = dict(schema)
    for choice in ("allOf", "anyOf", "oneOf"):
        if choice in schema:
            result[choice] = [closed(document, one) for one in schema[choice]]
    if "properties" in schema:
        result["properties"] = {name: closed(document, one) for name, one in schema["properties"].items()}
        result.setdefault("additionalProperties", False)
    for member in ("items", "additionalProperties"):
        if isinstance(schema.get(member), dict):
            result[member] = closed(document, schema[member])
    return result


if __name__ == "__main__":
    print(json.dumps(from_sources(), ensure_ascii=False))
