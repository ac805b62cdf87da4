"""The Pipit's memory and the messages that carry it, written out by hand."""

HEAD = bytes([0xF0, 0x7D, 0x07])
PRESETS = 64
SLOT = 232                       # bytes of records a preset has room for
ENTRY = 16                       # bytes a preset has in the directory
DIRECTORY = 64
FIRST_HALF = 1152                # presets 1 to 32, upwards
LAST_HALF = FIRST_HALF + 32 * SLOT  # presets 33 to 64, downwards from the end
SIZE = LAST_HALF + 32 * SLOT
REGIONS = [(0, DIRECTORY + PRESETS * ENTRY), (FIRST_HALF, SIZE)]  # what lies between is not sent
PART = 150                       # bytes of memory in one message


def places(index):
    """Where preset `index` (from 0) has its directory entry and its records."""
    records = FIRST_HALF + SLOT * index if index < 32 else SIZE - SLOT * (index - 31)
    return DIRECTORY + ENTRY * index, records


def put(memory, index, body):
    entry, records = places(index)
    assert len(body) <= ENTRY + SLOT, (index, len(body))
    memory[entry:entry + ENTRY] = body[:ENTRY]
    memory[records:records + len(body) - ENTRY] = body[ENTRY:]


def get(memory, index):
    entry, records = places(index)
    return bytes(memory[entry:entry + ENTRY] + memory[records:records + SLOT])


def seven_bit(number, count):
    return bytes(number >> 7 * i & 0x7F for i in reversed(range(count)))


def part(address, data):
    """Address, each byte as its low half and its high half, and the eight-bit sum of address and memory bytes."""
    where = seven_bit(address, 3)
    check = sum(where + data) & 0xFF
    halves = bytes(half for byte in data for half in (byte & 15, byte >> 4))
    return HEAD + bytes([0, 0x12]) + where + halves + seven_bit(check, 2) + b"\xF7"


def dump(memory, bank, title):
    assert len(memory) == SIZE
    out = HEAD + bytes([0, 0x10, bank]) + title.encode("ascii") + b"\xF7"
    for start, end in REGIONS:
        for at in range(start, end, PART):
            out += part(at, bytes(memory[at:min(at + PART, end)]))
    return out
