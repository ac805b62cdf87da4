"""Compares the System Exclusive reader with the parser of mido, an independent MIDI library.

Usage: mido_crosscheck.py PATH_TO_sysex_list FILE...

Complete messages must be the same ones in the same order, real-time bytes left out of both. The streams below
are compared too. Where mido is no reference a stream says why, and both answers are pinned down. Prints counts;
exit code 1 on any mismatch.
"""

import os
import subprocess
import sys
import tempfile

import mido

# Stream, our complete messages (content in hex), and, where mido is known to differ, its messages and the reason.
STREAMS = [
    ("F0 7D 01 02 03 F7", ["7D 01 02 03"]),
    ("F0 7D 01 F8 02 FE 03 F7", ["7D 01 02 03"]),
    ("F0 7D 01 02 90 40 7F", []),
    ("F0 7D 01 02 F0 7D 03 F7", ["7D 03"]),
    ("F0 7D 01 F4 02 F7", [], ["7D 01 02"], "F4 and F5 are ambiguous: mido ignores them, ours lets them end"),
    ("F0 7D 01 F5 02 F7", [], ["7D 01 02"], "F4 and F5 are ambiguous: mido ignores them, ours lets them end"),
    ("F0 7D 01 F9 02 F7", ["7D 01 02"]),
    ("F0 7D 01 FD 02 F7", ["7D 01 02"]),
    ("F0 7D 01 F6 02 F7", []),
    ("F7", []),
    ("01 02 F0 7D F7", ["7D"]),
    ("F0 7D 01 02 03", []),
    ("F0 F7", [], [""], "mido accepts a message without a manufacturer id"),
    ("F0 00 7F F7", [], ["00 7F"], "mido accepts a message without a whole manufacturer id"),
    ("F0 7E 7F 06 01 F7", ["7E 7F 06 01"]),
    ("F0 7E 10 06 02 7D 05 00 02 00 03 09 00 00 F7", ["7E 10 06 02 7D 05 00 02 00 03 09 00 00"]),
    ("F0 7E 10 06 02 00 7F 7E 05 00 02 00 03 0A 00 02 F7", ["7E 10 06 02 00 7F 7E 05 00 02 00 03 0A 00 02"]),
    ("F0 7D F7 00 00 F0 7D 01 F7", ["7D", "7D 01"]),
]

# Damage that mido drops without a word but ours must report, as kinds in stream order.
REPORTED = [
    ("F0 7D 01 02 90 40 7F", ["damaged", "junk"]),
    ("F0 7D 01 02 F0 7D 03 F7", ["damaged", "message"]),
    ("F0 7D 01 F6 02 F7", ["damaged", "junk"]),
    ("F0 7D 01 02 03", ["damaged"]),
]


def hex_text(data):
    return " ".join(f"{byte:02X}" for byte in data)


def mido_messages(data):
    parser = mido.Parser()
    parser.feed(data)
    return [hex_text(message.data) for message in parser if message.type == "sysex"]


def our_items(program, path):
    """Pairs of kind and hex; insists that the spans cover the file."""
    listing = subprocess.run([program, path], check=True, capture_output=True, text=True).stdout
    items, covered = [], 0
    for line in listing.splitlines():
        kind, offset, length, *content = line.split(" ")
        if int(offset) != covered:
            raise ValueError(f"{path}: item at {offset}, expected at {covered}")
        covered += int(length)
        items.append((kind, " ".join(content)))
    if covered != os.path.getsize(path):
        raise ValueError(f"{path}: {covered} bytes covered of {os.path.getsize(path)}")
    return items


def items_of_bytes(program, data):
    with tempfile.NamedTemporaryFile() as file:
        file.write(data)
        file.flush()
        return our_items(program, file.name)


def messages(items):
    return [content for kind, content in items if kind == "message"]


def has_id(content):
    data = bytes.fromhex(content)
    return len(data) >= 1 and (data[0] != 0 or len(data) >= 3)


def check_streams(program):
    wrong = exceptions = 0
    for text, ours, *known in STREAMS:
        data = bytes.fromhex(text)
        theirs = known[0] if known else ours
        exceptions += bool(known)
        got_ours, got_theirs = messages(items_of_bytes(program, data)), mido_messages(data)
        if got_ours != ours or got_theirs != theirs:
            wrong += 1
            print(f"{text}: ours {got_ours}, wanted {ours}; mido {got_theirs}, wanted {theirs}")
        elif known:
            print(f"{text}: differs as listed: {known[1]}")
    for text, kinds in REPORTED:
        got = [kind for kind, _ in items_of_bytes(program, bytes.fromhex(text))]
        if got != kinds:
            wrong += 1
            print(f"{text}: items {got}, wanted {kinds}")
    return wrong, exceptions


def check_files(program, paths):
    wrong = compared = 0
    for path in paths:
        with open(path, "rb") as file:
            theirs = [content for content in mido_messages(file.read()) if has_id(content)]
        ours = messages(our_items(program, path))
        compared += len(ours)
        if ours != theirs:
            wrong += 1
            print(f"{path}: {len(ours)} messages, mido has {len(theirs)}, or they differ in content")
    return wrong, compared


def main(arguments):
    if not arguments:
        print(__doc__)
        return 2
    program, *paths = arguments
    wrong_streams, exceptions = check_streams(program)
    wrong_files, compared = check_files(program, paths)
    print(f"{len(STREAMS)} streams, {exceptions} of them listed exceptions, {len(REPORTED)} reports of damage, "
          f"{wrong_streams} wrong; {len(paths)} files with {compared} messages, {wrong_files} wrong")
    return 1 if wrong_streams or wrong_files else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
