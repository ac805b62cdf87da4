#!/usr/bin/python3
"""Turns one knob of one Pipit preset: a dump as the unit would send it afterwards.

    /usr/bin/python3 demo/pipit/turn.py DUMP SLOT RECORD[.RECORD] NUMBER[,NUMBER] OUT

The record is given by its ids: 2 for one of the preset's own, 16.3 for one inside record 16 (the first of that id). The
numbers are what its value begins with afterwards. The part of the memory that holds it is sent anew, with its check;
everything else stays.
"""

import sys
from pathlib import Path

sys.dont_write_bytecode = True
sys.path.insert(0, str(Path(__file__).resolve().parent / "generate"))

import image  # noqa: E402

END = 0xFF


def messages(data):
    start = 0
    while start < len(data):
        end = data.index(0xF7, start) + 1
        yield data[start:end]
        start = end


def take_apart(message):
    """Address and bytes of a part; nothing for other messages."""
    if message[:3] != image.HEAD or message[4] != 0x12:
        return None
    where = message[5] << 14 | message[6] << 7 | message[7]
    halves = message[8:-3]
    return where, bytes(low | high << 4 for low, high in zip(halves[::2], halves[1::2]))


def memory_of(data):
    memory = bytearray(image.SIZE)
    for message in messages(data):
        if found := take_apart(message):
            memory[found[0]:found[0] + len(found[1])] = found[1]
    return memory


def find(memory, at, end, ids, head):
    """Where the value of a record stands; `head` bytes before each value, the last of them its length."""
    while at < end and memory[at] != END:
        value, length = at + head, memory[at + head - 1]
        if memory[at] == ids[0]:
            return value if len(ids) == 1 else find(memory, value, value + length, ids[1:], 2)
        at = value + length
    sys.exit(f"there is no record {ids[0]}")


def main():
    source, slot, record, numbers, target = sys.argv[1:]
    data = Path(source).read_bytes()
    memory = memory_of(data)
    _, records = image.places(int(slot) - 1)
    at = find(memory, records, records + image.SLOT, [int(part) for part in record.split(".")], 3)
    value = bytes(int(number) for number in numbers.split(","))
    memory[at:at + len(value)] = value
    out = b""
    for message in messages(data):
        found = take_apart(message)
        holds = found is not None and found[0] < at + len(value) and at < found[0] + len(found[1])
        out += image.part(found[0], bytes(memory[found[0]:found[0] + len(found[1])])) if holds else message
    Path(target).write_bytes(out)


if __name__ == "__main__":
    main()
