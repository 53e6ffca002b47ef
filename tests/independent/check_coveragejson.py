"""Holds CoverageJSON documents against the public schemas (tests/data/coveragejson, JSON Schema 2020-12).

check_coveragejson.py SCHEMAS FILE…: a line for every mistake; exit 1 when there is one, 77 where jsonschema is not installed.
"""

import json
import pathlib
import sys
import warnings

warnings.simplefilter("ignore", DeprecationWarning)
try:
    from jsonschema import Draft202012Validator, RefResolver
except ImportError:
    sys.exit(77)


def main(folder, files):
    schemas = {}
    for path in pathlib.Path(folder).glob("*.json"):
        schema = json.loads(path.read_text(encoding="utf-8"))
        schemas[schema["$id"]] = schema
    root = schemas["/schemas/coveragejson"]
    # Everything is at hand: nothing is fetched.
    resolver = RefResolver(base_uri="/schemas/coveragejson", referrer=root, store=schemas)
    validator = Draft202012Validator(root, resolver=resolver)
    wrong = 0
    for file in files:
        document = json.loads(pathlib.Path(file).read_text(encoding="utf-8"))
        for error in validator.iter_errors(document):
            wrong += 1
            print(f"{file}: /{'/'.join(str(p) for p in error.absolute_path)}: {error.message[:200]}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2:]))
