"""A device, dumps, a rig and a policy that are hostile wherever their users write text.

hostile_files.py FOLDER writes schemas/, dumps/, rig.json, policy.json and texts.json: for each page
what it must show as it is.
"""
import json
import pathlib
import re
import sys

NAME_BYTES = 96
# Markup, ends of elements that pages have, attributes that run, quotes, addresses that run, direction, what ends a text.
TEXTS = [
    "<script>alert(1)</script>", "</style><script>alert(2)</script>", "</title><h1>owned</h1>", "</td></tr></table><b>out</b>",
    "<img src=x onerror=alert(3)>", "<svg onload=alert(4)>", "\" onmouseover=\"alert(5)\" x=\"", "' autofocus onfocus='alert(6)",
    "javascript:alert(7)", "<a href=\"javascript:alert(8)\">x</a>", "<iframe srcdoc=\"<script>alert(9)</script>\">",
    "<style>*{display:none}</style>", "<link rel=stylesheet href=//example.com/x.css>", "<base href=//example.com/>",
    "<meta http-equiv=refresh content=0;url=//example.com>", "<form action=//example.com><button>go</button></form>",
    "-->\"'><!--", "]]>&lt;&#60;&amp;", "\u202egnp.\u202cab\u200f\u2067x\u2069\u061c", "before\0after", "one\nline\r\ntwo\t", "\u2028\u2029\ufeff",
]


def release(name, label, **more):
    return {"format": "downfit release 1", "device": "wren", "release": name, "parameters": {
        "name": {"at": 8, "as": "text", "length": NAME_BYTES, "encoding": "utf-8", "role": "name", "title": TEXTS[3]},
        "mode": {"at": 4, "choices": [label, "Hall"], "role": "model", "title": TEXTS[4], "note": TEXTS[5]}}, **more}


def write(path, content):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(content), encoding="utf-8")


def main(folder):
    old, new = TEXTS[1], TEXTS[4]  # releases are called so
    write(folder / "schemas/wren/device.json", {
        "format": "downfit device 1", "device": "wren", "title": TEXTS[2], "maker": TEXTS[6],
        "releases": [{"release": old, "stamp": 1}, {"release": new, "stamp": 2}],
        "layouts": {"file": {"as": "raw", "begins-with": "57 52", "stamp": {"at": 2, "as": "uint8"}, "body": {"size": 8 + NAME_BYTES}}},
        "rules": {"newer-stamp": "load", "older-stamp": "load", "long-text": "cut"}})
    write(folder / "schemas/wren/old.json", release(old, TEXTS[0], erases=[TEXTS[7], TEXTS[8]]))
    write(folder / "schemas/wren/new.json", release(new, TEXTS[9], erases=[TEXTS[10]], source=TEXTS[11]))
    (folder / "dumps").mkdir(exist_ok=True)
    for number, text in enumerate(TEXTS):
        name = text.encode()
        (folder / f"dumps/{number}.bin").write_bytes(b"WR\2\0" + bytes(4) + name + b" " * (NAME_BYTES - len(name)))
    dumps = {f"{text} {number}": {"file": f"dumps/{number}.bin", "notes": text} for number, text in enumerate(TEXTS)}
    write(folder / "rig.json", {
        "format": "downfit rig 1", "title": TEXTS[0], "notes": TEXTS[1], "dumps": dumps,
        "units": [{"name": text, "whose": TEXTS[-1 - number], "device": "wren", "release": new if number == 0 else old, "notes": text}
                  for number, text in enumerate(TEXTS)],
        "songs": [{"title": text, "notes": text, "presets": [{"dump": dump, "name": re.sub(r"[\0-\x1f]", "\ufffd", text)}]}
                  for text, dump in zip(TEXTS, dumps)]})
    write(folder / "policy.json", {
        "format": "downfit policy 1", "title": TEXTS[0], "notes": TEXTS[1],
        "accepted": [{"parameter": "mode", "on": [old], "weight": "severe", "cautions": ["level-unknown"], "reason": TEXTS[4], "notes": TEXTS[6]}]
        + [{"preset": text, "weight": "slight", "reason": text, "until": "2026-01-01"} for text in TEXTS]})
    write(folder / "texts.json", {
        "hostile-rig": TEXTS, "hostile-changes": [old, new, TEXTS[0], TEXTS[2], TEXTS[9], TEXTS[10]]})


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]))
