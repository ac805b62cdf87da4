"""Makes the seeds of the fuzz targets from the demo: seeds.py writes tests/fuzz/bases/ and tests/fuzz/corpus/.

Seeds are small: one or two presets of each shape, cut out of the demo's dumps by their framing. What the fuzzer found
later lies beside them under other names and is left alone.
"""
import gzip
import pathlib
import re
import sys
import zlib

FUZZ = pathlib.Path(__file__).resolve().parent
PROJECT = FUZZ.parents[1]
sys.path.insert(0, str(PROJECT / "demo" / "generate"))
import sysex  # noqa: E402  the demo's own packing: made without Downfit

DUNLIN, PIPIT, GOLDCREST = 0, 1, 2
BODY, ANY_SIZE, ALL = 0x80, 0x40, 0x20

SMALL_RIG = """{
  "format": "downfit rig 1", "title": "Half Past Harbour",
  "dumps": { "main": { "file": "a.syx", "saved-on": "3.10" }, "pedal": { "file": "p.syx", "layout": "preset" } },
  "units": [
    { "name": "main", "whose": "first guitar", "device": "dunlin-6", "release": "2.10", "dumps": ["main"] },
    { "name": "pedal", "device": "pipit", "variant": "pipit", "release": "1.1", "dumps": ["pedal"], "stays": true }
  ],
  "songs": [
    { "title": "Last Ferry Home", "presets": [{ "dump": "main", "slot": 1 }] },
    { "title": "Ebb", "presets": [{ "dump": "main", "slot": 1, "substitutes": [{ "dump": "pedal", "slot": 1 }, { "dump": "pedal", "slot": 2 }] }] }
  ]
}
"""
POLICY = """// Everything once.
{
  "format": "downfit policy 1", "title": "Spring tour", "device": "dunlin-6", "fails": "altered", "notes": "agreed",
  "tolerances": { "level": 1.5, "pitch": 5, "frequency": 70, "q": 20, "time": 6, "long-time-from": 240, "long-time": 2.5,
                  "decay": 5, "rate": 3, "range": 2, "slight-up-to": 3, "louder": 3 },
  "releases": { "3.00": { "fails": "near" }, "2.10": { "fails": "refused" } },
  "accepted": [
    { "preset": "Ferry Riff", "slot": 1, "parameter": "amp.alternate.drive", "outcome": "clamped", "on": ["2.10", "1.00"],
      "weight": "severe", "cautions": ["level-unknown"], "reason": "played with less" },
    { "parameter": "amp[1].alternate[2].model", "weight": "severe", "cautions": ["louder", "feedback", "level-unknown"],
      "reason": "never used", "until": "2026-12-31" },
    { "preset": "Ferry Riff", "weight": "severe", "cautions": ["louder", "feedback", "level-unknown"], "reason": "heard it" },
    { "fingerprint": "0123456789abcdef", "weight": "slight", "reason": "gone", "until": "2025-01-01" }
  ]
}
"""
PIPIT_SUBSTITUTES = """{
  "format": "downfit substitutes 1", "device": "pipit",
  "substitutes": [
    { "parameter": "drive[1].model", "lost": "Blunt Thistle", "instead": "Old Gorse", "on": ["1.0", "1.1"] },
    { "parameter": "drive.model", "lost": "Blunt Thistle", "instead": "Low Hedge", "reason": "softer" },
    { "parameter": "delay.model", "lost": "Dark", "instead": "Tape", "notes": "less feedback" }
  ]
}
"""
PIPIT_POLICY = """{
  "format": "downfit policy 1", "device": "pipit", "fails": "severe",
  "accepted": [ { "parameter": "reverb.model", "weight": "severe", "cautions": ["level-unknown"], "reason": "other rooms will do" } ]
}
"""
MANUAL = """Parameter;No.;From;To;Default;Unit;Options;Remarks
Output Volume;0;0;12,5;0;dB;;
Mode;1;;;Hall;;"Room, Hall, Plate";"see
page 12"
Delay Time (ms);2;20;1000;;ms;;"=A1"
"""
EXPORTED = '''release,entry,id,at,unit,minimum,maximum,scale-stored,scale-value,choices,default,when,json
"1.0",parameter,volume,0,dB,-80,20,"[0, 100]","[-80, 20]",,,,
"1.1",release,format,,,,,,,,,,downfit release 1
"1.1",release,device,,,,,,,,,,goldcrest
"1.1",release,release,,,,,,,,,,"""1.1"""
"1.1",release,extends,,,,,,,,,,"""1.0"""
"1.1",parameter,mode,15,,,,,,"0=Room; 4: Hall | May 4",Hall,"{""parameter"": ""tie"", ""is"": 2}","{""neutral"": ""Room""}"
"1.1",group,band,40,,,,,,,,,"{""count"": 2, ""stride"": 4}"
"1.1",choices,rooms,,,,,,,"{ ""insert"": { ""Plate"": 1 } }",,,
'''
HEXADECIMAL = """name;address;bit;width;min;max;removed\r
Level;1F;;;0;$7F;\r
Tone;20h;3;4;0;15;\r
Old;;;;;;yes\r
"""


def demo(name):
    return (PROJECT / "demo" / "dumps" / name).read_bytes()


def messages(data):
    return [b"\xF0" + part for part in data.split(b"\xF0")[1:]]


def presets_of(bank):
    """The demo bank's presets, each with its messages joined."""
    found, one = [], b""
    for message in messages(demo(bank)):
        one += message
        if message[4] == 0x22:
            found.append(one)
            one = b""
    return found


def unpack_body(preset):
    out = bytearray()
    for message in messages(preset):
        if message[4] != 0x21:
            continue
        data = message[8:-2]
        for i in range(0, len(data), 8):
            for k, byte in enumerate(data[i + 1:i + 8]):
                out.append(byte | (data[i] >> (6 - k) & 1) << 7)
    return bytes(out)


def stream_seven(data):
    bits = "".join(f"{byte:08b}" for byte in data)
    bits += "0" * (-len(bits) % 7)
    return bytes(int(bits[i:i + 7], 2) for i in range(0, len(bits), 7))


def aux_last(data):
    out = bytearray()
    for i in range(0, len(data), 7):
        group = data[i:i + 7]
        out += bytes(byte & 0x7F for byte in group)
        out.append(sum((byte >> 7) << (6 - k) for k, byte in enumerate(group)))
    return bytes(out)


def goldcrest_body(slot):
    import struct
    body = bytearray(48)
    body[0] = 2
    body[1:9] = "Skerry".ljust(8).encode()
    body[9:13] = b"\xE9tie"
    body[13:15] = struct.pack(">h", -125)
    for k in range(2):
        at = 16 + 8 * k
        body[at] = 0x80 | (slot + k) % 3
        body[at + 1:at + 5] = struct.pack(">f", 5.5 + k)
        body[at + 5] = 0x24
    body[32:40] = struct.pack("<d", 2.25)
    body[40:42] = struct.pack("<H", 31000)
    body[42] = 200
    return bytes(body)


def xor_7(data):
    value = 0
    for byte in data:
        value ^= byte
    return value & 0x7F


def run_lengths(data):
    """Runs of four and more, and escapes, as escape, count, value."""
    out = bytearray()
    i = 0
    while i < len(data):
        n = 1
        while i + n < len(data) and n < 127 and data[i + n] == data[i]:
            n += 1
        out += bytes([0x1B, n, data[i]]) if n >= 4 or data[i] == 0x1B else data[i:i + n]
        i += n
    return bytes(out)


def goldcrest_dumps():
    dumps = {}
    covered = bytes([0, 2]) + stream_seven(zlib.compress(goldcrest_body(0), 9))
    dumps["deflated"] = b"\xF0\x7D\x40" + covered + bytes([xor_7(covered), 0xF7])
    body = goldcrest_body(1)
    packed = run_lengths(body + zlib.crc32(body).to_bytes(4, "little"))
    data = bytes(byte >> 4 for byte in packed) + bytes(byte & 15 for byte in packed)
    dumps["runs"] = b"\xF0\x7D\x41\x01\x02" + sysex.two(len(data)) + data + b"\xF7"
    before, masked = 0x77, bytearray()
    for byte in goldcrest_body(2):
        before ^= byte
        masked.append(before)
    masked = bytes(byte ^ b"\x5A\x3C\x01"[i % 3] for i, byte in enumerate(masked))
    dumps["masked"] = b"".join(b"\xF0\x7D\x42\x02\x02" + bytes([n]) + aux_last(masked[n * 28:n * 28 + 28]) + b"\xF7"
                               for n in range(2))
    dumps["file"] = b"GOL\x02" + b"".join(goldcrest_body(slot) for slot in range(4))
    dumps["sealed"] = b"\xF0\x7D\x43\x05\x02" + bytes(range(48)) + b"\xF7"
    return dumps


def named_presets(name):
    """Head, presets and foot of one of Pipit's exports, as they stand there."""
    text = demo(name).decode()
    if name.endswith(".json"):
        lines = text.splitlines(keepends=True)
        return lines[0], [line.rstrip().rstrip(",") for line in lines if line.startswith('{"firmware"')], "]}\n"
    presets = re.findall(r"  <sound .*?</sound>\n", text, re.DOTALL)
    return text[:text.index(presets[0])], presets, "</pipit>\n"


def named_file(name, presets, kind):
    head, all_presets, foot = named_presets(name)
    joined = (",\n" if kind == "json" else "").join(all_presets[i] for i in presets)
    return (head + joined + ("\n" if kind == "json" else "") + foot).encode()


def write(folder, name, data):
    path = FUZZ / folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)


def main():
    bank_a, bank_c = presets_of("bank-a.syx"), presets_of("bank-c.syx")
    pipit = demo("pipit-a.syx")
    settings, impulses = demo("unit-settings.syx"), b"".join(messages(demo("impulse-responses.syx"))[:3])
    one, old = bank_a[0], bank_c[1]
    goldcrest = goldcrest_dumps()

    write("bases", "dunlin-6-preset.syx", one)
    write("bases", "dunlin-6-settings.syx", settings)
    write("bases", "pipit-bank.syx", pipit)
    for name in ("deflated", "runs", "masked", "file"):
        write("bases", f"goldcrest-{name}.syx", goldcrest[name])

    write("corpus/sysex", "seed-preset", messages(one)[0] + messages(one)[1] + messages(one)[-1])
    write("corpus/sysex", "seed-real-time", b"\xF0\x7D\x06\xF8\x01\xFE\x02\xF7\xFA\x90\x40\x40\xF0\x00\x20\x6B\x01\xF7")
    write("corpus/sysex", "seed-identity", b"\xF0\x7E\x7F\x06\x01\xF7\xF0\x7E\x00\x06\x02\x00\x20\x6B\x01\x00\x02\x00"
                                           b"\x01\x02\x03\x04\xF7\xF0\x7E\x00\x06\x02\x7D\x01\x00\x02\x00\x01\x02\x03\x04\xF7")
    write("corpus/sysex", "seed-damaged", b"\x01\x02\xF7\xF0\x7D\xF4\xF0\x7D\x06\x10\xF0\xF7\xF0\x7D\x06")

    text = b"Half Past Harbour " * 3 + bytes(range(256))[::5]
    for choice, name, settings_bytes in [(0, "seven", b"\x00"), (0, "seven-stream", b"\x03"), (1, "nibbles", b"\x00"),
                                         (2, "split", b"\x04"), (3, "xor", b"\x02\x5A\x3C"), (4, "rolling", b"\x5A"),
                                         (5, "runs", b"\x1B\x7F"), (0xE0, "checks", b"\x10"), (0xF0, "numbers", b"\x07\x00")]:
        write("corpus/packing", f"seed-{name}", bytes([choice]) + settings_bytes + text[:64])
    raw = zlib.compressobj(9, zlib.DEFLATED, -15)
    write("corpus/packing", "seed-inflate-raw", bytes([6, 0 + 3 * 9]) + raw.compress(text) + raw.flush())
    write("corpus/packing", "seed-inflate-zlib", bytes([6, 1 + 3 * 9]) + zlib.compress(text, 9))
    write("corpus/packing", "seed-inflate-gzip", bytes([6, 2 + 3 * 9]) + gzip.compress(text, 9, mtime=0))
    write("corpus/packing", "seed-inflate-much", bytes([6, 1]) + zlib.compress(bytes(2 << 20), 9))
    write("corpus/packing", "seed-unpack-seven", bytes([0, 0]) + sysex.pack_seven_in_eight(text))
    write("corpus/packing", "seed-unpack-runs", bytes([5, 0x1B, 0x7F]) + run_lengths(bytes(40) + text))

    write("corpus/dump", "seed-dunlin-file", bytes([DUNLIN]) + one)
    write("corpus/dump", "seed-dunlin-settings", bytes([DUNLIN]) + settings + impulses)
    write("corpus/dump", "seed-dunlin-body", bytes([BODY | DUNLIN, 0]) + unpack_body(old))
    write("corpus/dump", "seed-dunlin-empty", bytes([BODY | DUNLIN, 0]) + b"\xFF" * 8)
    write("corpus/dump", "seed-pipit-file", bytes([PIPIT]) + pipit)
    write("corpus/dump", "seed-pipit-cut", bytes([PIPIT]) + b"".join(messages(pipit)[:8]))
    write("corpus/dump", "seed-pipit-body", bytes([BODY | PIPIT, 0]) + b"P\x02\x01" + b"Skerry".ljust(13) + bytes([1, 1, 2, 0, 9]))
    for name, data in goldcrest.items():
        write("corpus/dump", f"seed-goldcrest-{name}", bytes([GOLDCREST]) + data)
    for base in range(4):
        write("corpus/dump", f"seed-goldcrest-body-{base}", bytes([BODY | GOLDCREST | base << 2, 0]) + goldcrest_body(base))

    write("corpus/check", "seed-dunlin-file", bytes([DUNLIN | ALL, 0]) + one)
    write("corpus/check", "seed-dunlin-body", bytes([BODY | ALL | DUNLIN, 0x70]) + unpack_body(bank_a[32]))
    write("corpus/check", "seed-dunlin-old", bytes([BODY | DUNLIN, 0x70]) + unpack_body(old))
    write("corpus/check", "seed-dunlin-short", bytes([BODY | ANY_SIZE | DUNLIN, 0x74]) + unpack_body(old)[:300])
    write("corpus/check", "seed-pipit-file", bytes([PIPIT, 0]) + pipit)
    write("corpus/check", "seed-pipit-body", bytes([BODY | ALL | PIPIT, 0x30]) + b"P\x02\x01" + b"Skerry".ljust(13) + bytes([1, 1, 2, 0, 9]))
    write("corpus/check", "seed-pipit-short", bytes([BODY | ANY_SIZE | PIPIT, 0x30]) + b"P\x02\x01" + b"Skerry".ljust(13) + bytes([1, 1, 2]))
    for name in ("deflated", "file"):
        write("corpus/check", f"seed-goldcrest-{name}", bytes([GOLDCREST | ALL, 0]) + goldcrest[name])
    write("corpus/check", "seed-goldcrest-body", bytes([BODY | GOLDCREST, 0x10]) + goldcrest_body(1))

    for base, kind in enumerate(("json", "xml")):
        name = f"pipit-a.{kind}"
        presets = named_presets(name)[1]
        write("bases", f"named-pipit.{kind}", named_file(name, (0, 40), kind))
        write("corpus/names", f"seed-{kind}-file", bytes([3]) + named_file(name, (1,), kind))
        write("corpus/names", f"seed-{kind}-old", bytes([0]) + named_file("pipit-b." + kind, (30, 31), kind))
        write("corpus/names", f"seed-{kind}-preset", bytes([BODY | base << 6]) + presets[2].strip().encode())
    write("corpus/names", "seed-json-comments", bytes([1]) + b'{"device": "Pipit", // a comment\n"sounds": [null, '
                                                + named_presets("pipit-a.json")[1][3].encode() + b",]}")

    rig = (PROJECT / "demo" / "rig.json").read_text()
    write("corpus/rig", "seed-demo", rig.encode())
    write("corpus/rig", "seed-small", SMALL_RIG.encode())
    write("corpus/policy", "seed-empty", b'{"format": "downfit policy 1"}')
    write("corpus/policy", "seed-all", POLICY.encode())
    write("corpus/policy", "seed-pipit", PIPIT_POLICY.encode())
    write("corpus/substitutes", "seed-demo", (PROJECT / "demo" / "substitutes.json").read_bytes())
    write("corpus/substitutes", "seed-empty", b'{"format": "downfit substitutes 1", "device": "pipit", "substitutes": []}')
    write("corpus/substitutes", "seed-pipit", PIPIT_SUBSTITUTES.encode())
    write("corpus/table", "seed-manual", bytes([0x0D]) + MANUAL.encode())
    write("corpus/table", "seed-exported", bytes([0x04]) + EXPORTED.encode())
    write("corpus/table", "seed-hexadecimal", bytes([0x12]) + HEXADECIMAL.encode())

    def schema(folder, *names):
        return b"\x1e".join((folder / name).read_bytes() for name in names)

    write("corpus/schema", "seed-goldcrest", schema(FUZZ / "goldcrest", "device.json", "1.0.json", "1.1.json"))
    schemas = PROJECT / "schemas"
    write("corpus/schema", "seed-pipit", schema(schemas / "pipit", "device.json", "1.0.json", "1.1.json"))
    write("corpus/schema", "seed-pipit-new", schema(schemas / "pipit", "device.json", "1.0.json", "1.1.json", "2.0.json"))
    write("corpus/schema", "seed-dunlin-device", schema(schemas / "dunlin-6", "device.json"))


if __name__ == "__main__":
    main()
