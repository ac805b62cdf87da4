"""How numbers and texts lie in a preset body, and how a stored number becomes a value."""

import math
import struct


class Place:
    """A place in the body: which bits, and how they make one stored number or text."""

    def __init__(self, form, pieces=None, size=1, signed=False, little=False, padding=b" "):
        self.form = form            # "whole", "float", "text" or "bits"
        self.pieces = pieces or []  # of "bits": (byte, lowest bit, width), most significant piece first
        self.size = size            # of the others: bytes
        self.signed = signed        # False, "twos" or "offset"
        self.little = little
        self.padding = padding
        self.end = max(piece[0] for piece in self.pieces) + 1 if self.pieces else size

    def width(self):
        return sum(piece[2] for piece in self.pieces) if self.form == "bits" else 8 * self.size

    def bits(self, at):
        """The absolute bit numbers, byte * 8 + bit."""
        if self.form == "bits":
            return [(at + byte) * 8 + bit + i for byte, bit, width in self.pieces for i in range(width)]
        return list(range(at * 8, (at + self.size) * 8))

    def read(self, body, at):
        """The stored number or text; None where the body ends before it."""
        if at + self.end > len(body):
            return None
        if self.form == "bits":
            number = 0
            for byte, bit, width in self.pieces:
                number = (number << width) | ((body[at + byte] >> bit) & ((1 << width) - 1))
            return self._with_sign(number)
        raw = bytes(body[at:at + self.size])
        if self.form == "text":
            return raw.decode("latin-1").rstrip(self.padding.decode("latin-1"))
        if self.form == "float":
            return struct.unpack("<f" if self.little else ">f", raw)[0]
        return self._with_sign(int.from_bytes(raw, "little" if self.little else "big"))

    def write(self, body, at, stored):
        if self.form == "text":
            raw = stored.encode("latin-1")
            assert len(raw) <= self.size, stored
            body[at:at + self.size] = raw + self.padding * (self.size - len(raw))
        elif self.form == "float":
            body[at:at + 4] = struct.pack("<f" if self.little else ">f", stored)
        else:
            number = self._without_sign(stored)
            if self.form == "bits":
                for byte, bit, width in reversed(self.pieces):
                    mask = (1 << width) - 1
                    body[at + byte] = (body[at + byte] & ~(mask << bit) & 0xFF) | ((number & mask) << bit)
                    number >>= width
            else:
                body[at:at + self.size] = number.to_bytes(self.size, "little" if self.little else "big")

    def _with_sign(self, number):
        half = 1 << (self.width() - 1)
        if self.signed == "twos":
            return number - 2 * half if number >= half else number
        return number - half if self.signed == "offset" else number

    def _without_sign(self, stored):
        half = 1 << (self.width() - 1)
        number = stored + half if self.signed == "offset" else stored % (2 * half)
        assert 0 <= number < 2 * half and self._with_sign(number) == stored, stored
        return number


U8 = Place("whole")
I8 = Place("whole", signed="twos")
U16 = Place("whole", size=2)
U16_LITTLE = Place("whole", size=2, little=True)
FLOAT = Place("float", size=4)


def text(length, padding=b" "):
    return Place("text", size=length, padding=padding)


def bits(bit, width, signed=False):
    return Place("bits", [(0, bit, width)], signed=signed)


def pieces(*parts):
    return Place("bits", list(parts))


# Scales: each has to_value and to_stored.

class Linear:
    def __init__(self, s0, s1, v0, v1):
        self.s0, self.s1, self.v0, self.v1 = s0, s1, v0, v1

    def to_value(self, stored):
        return self.v0 + (self.v1 - self.v0) * (stored - self.s0) / (self.s1 - self.s0)

    def to_stored(self, value):
        return round(self.s0 + (self.s1 - self.s0) * (value - self.v0) / (self.v1 - self.v0))


class Logarithmic(Linear):
    def to_value(self, stored):
        return self.v0 * (self.v1 / self.v0) ** ((stored - self.s0) / (self.s1 - self.s0))

    def to_stored(self, value):
        return round(self.s0 + (self.s1 - self.s0) * math.log(value / self.v0) / math.log(self.v1 / self.v0))


class Volume:
    """40 log10 of the share, silence at zero."""

    def __init__(self, most, top):
        self.most, self.top = most, top

    def to_value(self, stored):
        return -math.inf if stored == 0 else 40 * math.log10(stored / self.most) + self.top

    def to_stored(self, value):
        return 0 if value == -math.inf else round(self.most * 10 ** ((value - self.top) / 40))


class Table:
    """Straight lines between listed points."""

    def __init__(self, stored, value):
        self.legs = [Linear(stored[i], stored[i + 1], value[i], value[i + 1]) for i in range(len(stored) - 1)]

    def to_value(self, stored):
        for leg in self.legs:
            if stored <= leg.s1:
                break
        return leg.to_value(stored)

    def to_stored(self, value):
        for leg in self.legs:
            if value <= leg.v1:
                break
        return leg.to_stored(value)
