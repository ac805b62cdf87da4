"""The Dunlin 6's System Exclusive messages, written out by hand."""

HEAD = bytes([0xF0, 0x7D, 0x06])
PART = 112  # body bytes in one message: 128 once packed


def pack_seven_in_eight(data):
    """Seven bytes become eight: first a byte with the high bits, that of the first byte on top."""
    out = bytearray()
    for i in range(0, len(data), 7):
        group = data[i:i + 7]
        high = 0
        for k, byte in enumerate(group):
            high |= (byte >> 7) << (6 - k)
        out.append(high)
        out += bytes(byte & 0x7F for byte in group)
    return bytes(out)


def sum_7_complement(data):
    return -sum(data) & 0x7F


def crc_16_ccitt_false(data):
    crc = 0xFFFF
    for byte in data:
        crc ^= byte << 8
        for _ in range(8):
            crc = ((crc << 1) ^ 0x1021 if crc & 0x8000 else crc << 1) & 0xFFFF
    return crc


assert crc_16_ccitt_false(b"123456789") == 0x29B1


def two(number):
    return bytes([number >> 7, number & 0x7F])


def message(unit, kind, *covered, checked=True):
    inside = b"".join(covered)
    assert all(byte < 0x80 for byte in inside)
    check = bytes([sum_7_complement(inside)]) if checked else b""
    return HEAD + bytes([unit, kind]) + inside + check + b"\xF7"


def preset(slot, stamp, body, unit=0):
    """Start, parts, end. The last two body bytes are the check over all before them."""
    body = bytes(body[:-2]) + crc_16_ccitt_false(body[:-2]).to_bytes(2, "big")
    parts = [body[i:i + PART] for i in range(0, len(body), PART)]
    out = message(unit, 0x20, two(slot), two(stamp), bytes([len(parts)]))
    for number, part in enumerate(parts):
        out += message(unit, 0x21, two(slot), bytes([number]), pack_seven_in_eight(part))
    return out + message(unit, 0x22, two(slot), checked=False)


def unit_settings(stamp, body, unit=0):
    nibbles = bytes(half for byte in body for half in (byte >> 4, byte & 15))
    return message(unit, 0x30, two(stamp), nibbles)


def impulse_response(slot, name, checksum, unit=0):
    raw = name.encode("ascii").ljust(16, b" ")
    return message(unit, 0x31, two(slot), raw, bytes([checksum >> 14 & 0x7F, checksum >> 7 & 0x7F, checksum & 0x7F]))
