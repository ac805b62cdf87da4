#!/usr/bin/env python3
"""Merges a patch into a JSON file, as RFC 7396 says: what is null goes, the rest is put in, or over what is there. Comments go.

usage: merge.py FILE PATCH
"""
import json
import pathlib
import re
import sys

TOKEN = re.compile(r'"(?:\\.|[^"\\])*"|//[^\n]*|/\*.*?\*/', re.DOTALL)


def read(path):
    text = pathlib.Path(path).read_text(encoding="utf-8")
    return json.loads(TOKEN.sub(lambda found: found[0] if found[0].startswith('"') else " ", text))


def merged(target, patch):
    """RFC 7396, section 2."""
    if not isinstance(patch, dict):
        return patch
    result = dict(target) if isinstance(target, dict) else {}
    for key, value in patch.items():
        if value is None:
            result.pop(key, None)
        else:
            result[key] = merged(result.get(key), value)
    return result


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__.strip())
    file, patch = sys.argv[1:]
    text = json.dumps(merged(read(file), read(patch)), indent=2, ensure_ascii=False)
    pathlib.Path(file).write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
