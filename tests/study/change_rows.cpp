// The rows of changes_test.cpp: what the second release of a small device says, and the changes that it makes.
#include "study/change_rows.h"

namespace downfit::testing {

const std::vector<ChangeRow>& change_rows() {
    static const std::vector<ChangeRow> rows{
        {"group added", false,
         R"(, "groups": { "comp": { "kind": "block", "at": 50 } }, "parameters": { "comp.on": { "at": 0, "kind": "switch" }, "comp.gain": { "at": 1 } })",
         "group-added comp:  ->  +comp.on +comp.gain | back lost (it has nowhere to go, and 2 parameters with it) | "
         "forward added (new there, with 2 parameters)\n"},
        {"group removed", false, R"(, "groups": { "scene": null })",
         "group-removed scene:  ->  +scene.amp | back added (new there, with 1 parameter) | forward lost (it has "
         "nowhere to go, and 1 parameter with it)\n"},
        {"group renamed", false, R"(, "groups": { "head": { "renamed-from": "amp" } })",
         "group-renamed head: amp -> head | back nothing (another name for the same thing) | forward nothing (another "
         "name for the same thing)\n"},
        {"more instances", false, R"(, "groups": { "scene": { "count": 3 } })",
         "group-count scene: 2 -> 3 | back lost (those beyond the 2 have nowhere to go) | forward added (those beyond "
         "the 2 are new there)\n"},
        {"another place of a group", false, R"(, "groups": { "scene": { "at": 36 } })",
         "group-place scene: byte 32, every 4 bytes -> byte 36, every 4 bytes | back displaced (all of it is read from "
         "other bytes) | forward displaced (all of it is read from other bytes)\n"},
        {"another stride", false, R"(, "groups": { "scene": { "stride": 6 } })",
         "group-place scene: byte 32, every 4 bytes -> byte 32, every 6 bytes | back displaced (all of it is read from "
         "other bytes) | forward displaced (all of it is read from other bytes)\n"},
        {"another kind of group", false,
         R"(, "groups": { "scene": { "kind": "plain" } }, "parameters": { "scene.amp": { "overrides": null, "as-base": null } })",
         "group-kind scene: scene -> plain | back woken (whether it sounds is decided in another way) | forward woken "
         "(whether it sounds is decided in another way)\n"
         "code scene.amp: as-base: 0 -> as-base: none | back swapped (the same number means something else) | forward "
         "swapped (the same number means something else)\n"
         "override scene.amp: amp[1].on -> none | back swapped (the same setting acts on something else) | forward "
         "swapped (the same setting acts on something else)\n"},
        {"a group under a condition", false,
         R"(, "groups": { "pedal": { "when": { "parameter": "tempo", "above": 60 } } })",
         "group-condition pedal: always -> tempo above 60 | back added (exists there where it did not) | forward lost "
         "(does not exist there where it did)\n"},
        {"always on", false, R"(, "groups": { "amp": { "on-by": null } })",
         "group-control amp: on-by: amp.on -> on-by: none | back woken (another parameter decides) | forward woken "
         "(another parameter decides)\n"},
        {"cost", false, R"(, "groups": { "amp": { "cost": 8 } })",
         "group-cost amp: 5 -> 8 | back nothing (decides whether all blocks can run at once) | forward nothing "
         "(decides whether all blocks can run at once)\n"},
        {"parameter added", false, R"(, "parameters": { "tone": { "at": 50, "neutral": 5 } })",
         "parameter-added tone:  -> byte 50 | back lost (it has nowhere to go; at 5 that makes no difference) | "
         "forward added (new there)\n"},
        {"parameter added where nothing was told", false,
         R"(, "parameters": { "tempo": { "at": 51 }, "tone": { "at": 9, "neutral": 5 } })",
         "place tempo: byte 9 -> byte 51 | back displaced (read from where tone is stored) | forward displaced (read "
         "from bytes that mean nothing)\n"
         "parameter-added tone:  -> byte 9 | back lost (it has nowhere to go; at 5 that makes no difference) | forward "
         "displaced (read from where tempo is stored)\n"},
        {"parameter removed", false, R"(, "parameters": { "curve": null })",
         "parameter-removed curve: byte 14 ->  | back added (new there) | forward lost (it has nowhere to go)\n"},
        {"parameter renamed", false, R"(, "parameters": { "time": { "renamed-from": "delay" } })",
         "parameter-renamed time: delay -> time | back nothing (another name for the same thing) | forward nothing "
         "(another name for the same thing)\n"},
        {"stored in fewer bits", false, R"(, "parameters": { "amp.on": { "width": 1 } })",
         "width amp.on: 2 bits, unsigned -> 1 bit, unsigned | back nothing (more bits of the same number are read) | "
         "forward woken (only the lower bits of the number are looked at)\n"},
        {"a longer name", false, R"(, "groups": {}, "parameters": { "name": { "length": 6 } })",
         "width name: 8 characters -> 6 characters | back nothing (more characters than before) | forward cut (longer "
         "texts are cut)\n"},
        {"other coding", false, R"(, "parameters": { "tempo": { "as": "int8", "range": [40, 120] } })",
         "width tempo: 8 bits, unsigned -> 8 bits, two's complement | back rescaled (numbers that the two codings "
         "write alike only in part) | forward rescaled (numbers that the two codings write alike only in part)\n"
         "range tempo: 40..240 bpm -> 40..120 bpm | back nothing (widened to 40..240 bpm) | forward clamped (narrowed "
         "to 40..120 bpm; what lies beyond: held at the end)\n"},
        {"a longer list", false, R"(, "parameters": { "curve": { "list": { "count": 1 } } })",
         "list-count curve: 2 -> 1 | back added (values beyond the 1 are new there) | forward lost (values beyond the "
         "1 have nowhere to go)\n"},
        {"older places", false,
         R"(, "parameters": { "delay": { "scale": { "stored": [0, 1000], "value": [0, 2000] }, "reads": [ { "when": { "stamp": { "below": "1.1" } }, "at": 10, "as": "uint16", "scale": { "stored": [0, 2000], "value": [0, 2000] } } ] } })",
         "reads delay: 0 -> 1 | back nothing (how it takes what other releases stored) | forward nothing (how it takes "
         "what other releases stored)\n"
         "scale delay: the stored number in ms -> linear, stored 0..1000 is 0..2000 ms | back rescaled (the same "
         "stored number is another amount) | forward nothing (converted from the older place)\n"},
        {"another kind of value", false,
         R"(, "parameters": { "tempo": { "kind": "switch", "range": null, "step": null, "default": null, "unit": null } })",
         "kind tempo: whole -> switch | back swapped (the same number is another kind of thing) | forward swapped (the "
         "same number is another kind of thing)\n"
         "default tempo: 120 bpm -> none | back nothing (only new presets have it) | forward nothing (only new presets "
         "have it)\n"},
        {"a wider range", false, R"(, "parameters": { "tempo": { "range": [40, 250] } })",
         "range tempo: 40..240 bpm -> 40..250 bpm | back clamped (narrowed to 40..240 bpm; what lies beyond: held at "
         "the end) | forward nothing (widened to 40..250 bpm)\n"},
        {"a range narrower above, wider below", false, R"(, "parameters": { "tempo": { "range": [30, 200] } })",
         "range tempo: 40..240 bpm -> 30..200 bpm | back clamped (narrowed to 40..240 bpm; what lies beyond: held at "
         "the end) | forward clamped (narrowed to 30..200 bpm; what lies beyond: held at the end)\n"},
        {"a wider range that is kept", false, R"(, "parameters": { "feedback": { "range": [0, 105] } })",
         "range feedback: 0..100 % -> 0..105 % | back nothing (narrowed to 0..100 %; what lies beyond is kept and "
         "played) | forward rescaled (widened to 0..105 %; a pedal or controller that moves it reaches further)\n"},
        {"more than is played", false, R"(, "parameters": { "feedback": { "range": [0, 120], "plays": null } })",
         "range feedback: 0..100 % -> 0..120 % | back out-of-range (narrowed to 0..100 %; what lies beyond: kept, "
         "beyond what is played) | forward rescaled (widened to 0..120 %; a pedal or controller that moves it reaches "
         "further)\n"
         "plays feedback: 0..110 % -> the range | back out-of-range (plays no more than 0..110 %) | forward nothing "
         "(nothing more is cut off)\n"},
        {"a finer step", false, R"(, "parameters": { "tempo": { "step": 1 } })",
         "step tempo: 2 bpm -> 1 bpm | back rounded (between two steps: rounded) | forward nothing (a finer grid)\n"},
        {"another law", false,
         R"(, "parameters": { "volume": { "scale": { "stored": [0, 120], "value": [-48, 0] }, "range": [-48, 0] } })",
         "scale volume: linear, stored 0..120 is -60..0 dB -> linear, stored 0..120 is -48..0 dB | back rescaled (the "
         "same stored number is another amount) | forward rescaled (the same stored number is another amount)\n"
         "range volume: -60..0 dB -> -48..0 dB | back rescaled (widened to -60..0 dB; a pedal or controller that moves "
         "it reaches further) | forward clamped (narrowed to -48..0 dB; what lies beyond: held at the end)\n"},
        {"a longer law", false,
         R"(, "parameters": { "volume": { "scale": { "stored": [0, 132], "value": [-60, 6] } } })", ""},
        {"another unit, the same amounts", false,
         R"(, "parameters": { "delay": { "unit": "s", "scale": { "stored": [0, 2000], "value": [0, 2] }, "range": [0, 2] } })",
         "unit delay: ms -> s | back nothing (shown otherwise; the same amounts) | forward nothing (shown otherwise; "
         "the same amounts)\n"},
        {"a default that presets leave out", true, R"(, "parameters": { "gain": { "default": 3 } })",
         "default gain: 5 -> 3 | back reset (presets that leave it out get the other default) | forward reset (presets "
         "that leave it out get the other default)\n"},
        {"a newer version of a record", true, R"(, "groups": { "reverb": { "version-at-most": 2 } })",
         "group-version reverb: 1 -> 2 | back lost (newer versions of its record are refused) | forward nothing (all "
         "older versions are taken)\n"},
        {"a record that is refused", true, R"(, "parameters": { "tone": { "tag": 9 } })",
         "parameter-added tone:  -> record 9, byte 0 | back refused (a record that is not known there is refused) | "
         "forward added (new there)\n"},
        {"another record", true, R"(, "parameters": { "gain": { "tag": 8 } })",
         "place gain: record 7, byte 0 -> record 8, byte 0 | back refused (a record that is not known there is "
         "refused) | forward refused (a record that is not known there is refused)\n"},
        {"default", false, R"(, "parameters": { "tempo": { "default": 100 } })",
         "default tempo: 120 bpm -> 100 bpm | back nothing (only new presets have it) | forward nothing (only new "
         "presets have it)\n"},
        {"neutral", false, R"(, "parameters": { "amp.drive": { "neutral": 10 } })",
         "neutral amp.drive: 0 -> 10 | back nothing (decides where losing it makes no difference) | forward nothing "
         "(decides where losing it makes no difference)\n"},
        {"role", false, R"(, "parameters": { "tempo": { "role": "tempo" } })",
         "role tempo: none -> tempo | back nothing (decides how a difference is heard) | forward nothing (decides how "
         "a difference is heard)\n"},
        {"choice added", false, R"(, "choice-lists": { "models": { "add": { "Pond": 4 } } })",
         "choice-added amp.model:  -> Pond (4) +Pond | back reset (Pond: the default) | forward nothing (no other "
         "number moves)\n"},
        {"choice inserted", false, R"(, "choice-lists": { "models": { "insert": { "Pond": 1 } } })",
         "choice-inserted amp.model:  -> Pond (1) +Pond | back swapped (Pond: number 1 is Weir there; 3 choices after "
         "it, from Weir on, each name another there) | forward swapped (3 choices after it, from Weir on, each name "
         "another there)\n"},
        {"choice removed", false, R"(, "choice-lists": { "models": { "remove": ["Ford"] } })",
         "choice-removed amp.model: Ford (3) ->  +Ford | back nothing (no preset of the newer release has it) | "
         "forward reset (Ford: the default)\n"},
        {"choice closed", false,
         R"(, "choice-lists": { "models": { "close": ["Weir"] } }, "parameters": { "amp.drive": { "when": { "is": "Mill" } } })",
         "condition amp.drive: amp.model is Weir or Mill -> amp.model is Mill | back added (exists there where it did "
         "not) | forward lost (does not exist there where it did)\n"
         "choice-removed amp.model: Weir (1) ->  +Weir | back swapped (the 2 after it, from Mill on, each name another "
         "there) | forward swapped (Weir: number 1 is Mill there; the 2 after it, from Mill on, each name another "
         "there)\n"},
        {"choice renamed", false, R"(, "choice-lists": { "models": { "rename": { "Mill": "Old Mill" } } })",
         "choice-renamed amp.model: Mill -> Old Mill | back nothing (another name for the same thing) | forward "
         "nothing (another name for the same thing)\n"},
        {"choices moved", false, R"(, "choice-lists": { "models": ["Brook", "Mill", "Weir", "Ford"] })",
         "choices-moved amp.model: Mill (2), Weir (1) -> Mill (1), Weir (2) +Mill +Weir | back swapped (the same "
         "number names another there) | forward swapped (the same number names another there)\n"},
        {"one inserted, one closed", false,
         R"(, "choice-lists": { "models": { "close": ["Ford"], "insert": { "Pond": 0 } } })",
         "choice-inserted amp.model:  -> Pond (0) +Pond | back swapped (Pond: number 0 is Brook there; 3 choices after "
         "it, from Brook on, each name another there) | forward swapped (3 choices after it, from Brook on, each name "
         "another there)\n"
         "choice-removed amp.model: Ford (3) ->  +Ford | back nothing (no preset of the newer release has it) | "
         "forward swapped (Ford: number 3 is Mill there)\n"},
        {"one in place of another", false,
         R"(, "choice-lists": { "models": { "remove": ["Ford"], "add": { "Pond": 3 } } })",
         R"(choice-added amp.model:  -> Pond (3) +Pond ? perhaps another name of Ford: it has the same number; "rename" says so | back swapped (Pond: number 3 is Ford there) | forward nothing (no other number moves)
)"
         R"(choice-removed amp.model: Ford (3) ->  +Ford ? perhaps now called Pond: it has the same number; "rename" says so | back nothing (no preset of the newer release has it) | forward swapped (Ford: number 3 is Pond there)
)"},
        {"condition", false, R"(, "parameters": { "amp.drive": { "when": { "is": ["Weir", "Mill", "Ford"] } } })",
         "condition amp.drive: amp.model is Weir or Mill -> amp.model is Weir, Mill or Ford | back lost (does not "
         "exist there where it did) | forward added (exists there where it did not)\n"},
        {"no condition", false, R"(, "parameters": { "amp.drive": { "when": null } })",
         "condition amp.drive: amp.model is Weir or Mill -> always | back lost (does not exist there where it did) | "
         "forward added (exists there where it did not)\n"},
        {"what varies no longer varies", false, R"(, "parameters": { "amp.drive": { "varies": null } })",
         "range amp.drive when amp.model is Mill: 0..50 -> 0..100 | back clamped (narrowed to 0..50; what lies beyond: "
         "held at the end) | forward nothing (widened to 0..100)\n"},
        {"choices that vary", false,
         R"(, "parameters": { "amp.model": { "varies": [ { "when": { "parameter": "amp.on", "is": true }, "choices": { "Weir": 0, "Brook": 1, "Mill": 2, "Ford": 3 } } ] } })",
         "variation amp.model when amp.on is on:  -> other choices | back swapped (the same number may name something "
         "else) | forward swapped (the same number may name something else)\n"},
        {"scope", false, R"(, "parameters": { "tempo": { "scope": "unit" } })",
         "scope tempo: preset -> unit | back added (new in presets there) | forward reset (the unit's own setting "
         "stays)\n"},
        {"a rule of a parameter", false, R"(, "parameters": { "tempo": { "rules": { "out-of-range": "reset" } } })",
         "rule tempo: out-of-range: as the release has it -> out-of-range: reset | back nothing (decides what becomes "
         "of what does not fit) | forward nothing (decides what becomes of what does not fit)\n"},
        {"a rule of the release", false, R"(, "rules": { "off-step": "keep" })",
         "rule 1.1: off-step: round -> off-step: keep | back nothing (decides what becomes of what does not fit) | "
         "forward nothing (decides what becomes of what does not fit)\n"},
        {"nothing", false, R"(, "parameters": { "impulse": { "nothing": 0 } })",
         "code impulse: nothing: 255 -> nothing: 0 | back swapped (the same number means something else) | forward "
         "swapped (the same number means something else)\n"},
        {"target", false, R"(, "parameters": { "impulse": { "refers-to": "preset" } })",
         "target impulse: impulse-response -> preset | back swapped (the same number points at something else) | "
         "forward swapped (the same number points at something else)\n"},
        {"override", false, R"(, "parameters": { "scene.amp": { "overrides": "amp[2].on" } })",
         "override scene.amp: amp[1].on -> amp[2].on | back swapped (the same setting acts on something else) | "
         "forward swapped (the same setting acts on something else)\n"},
        {"a larger body", false, R"(, "layouts": { "preset": { "body": { "size": 72 } } })",
         "body-size preset: 64 bytes -> 72 bytes | back nothing (longer presets are taken) | forward reset (shorter "
         "presets: the rest is read as zero)\n"},
        {"another framing", false,
         R"(, "layouts": { "preset": { "messages": { "preset": { "bytes": "F0 7D 0A {slot} {data...} F7" } } } })",
         "framing preset:  -> another | back refused (dumps of the other release are not recognised) | forward refused "
         "(dumps of the other release are not recognised)\n"},
        {"volatile", false, R"(, "layouts": { "preset": { "volatile": [{ "at": 60, "length": 2 }] } })",
         "volatile-bytes preset: none -> 60+2 | back nothing (never compared) | forward nothing (never compared)\n"},
        {"stamp", false, R"(, "stamp": 2)",
         "stamp 1.1: 1 -> 2 | back nothing (presets with another stamp are loaded) | forward refused (presets with "
         "another stamp are refused (older-stamp))\n"},
        {"accepts", false, R"(, "accepts": [ { "slot": { "at-most": 32 }, "refuses": "preset" } ])",
         "accepts 1.1: none -> slot at most 32, else the preset is refused | back nothing (all are accepted) | forward "
         "refused (takes only slot at most 32, else the preset is refused)\n"},
        {"repairs", false, R"(, "repairs": [ { "if": { "at": 9, "bytes": "00" }, "read-as": "78" } ])",
         "repairs 1.1: none -> 00 at byte 9 is read as 78 | back nothing (what the newer release repairs is not "
         "repaired there) | forward nothing (what it finds so is read as meant)\n"},
        {"slots", false, R"(, "slots": { "count": 32 })",
         "slots 1.1: 1..64 -> 1..32 | back nothing (more slots) | forward refused (presets in slots that are not "
         "there)\n"},
        {"asset", false, R"(, "assets": { "impulse-response": { "count": 16 } })",
         "asset impulse-response: 1..8 -> 1..16 | back unfilled (slots beyond are not there) | forward nothing (more "
         "slots)\n"},
        {"asset contents", false, R"(, "assets": { "impulse-response": { "contents": { "1": "Open" } } })",
         "asset impulse-response: factory contents -> others | back swapped (the same slot holds something else from "
         "the factory) | forward swapped (the same slot holds something else from the factory)\n"},
        {"variant", false, R"(, "variants": { "mini": { "oldest-release": "1.1" } })",
         "variant mini: oldest release not stated -> oldest release 1.1 | back refused (its hardware takes no release "
         "before 1.1) | forward nothing\n"},
        {"limit", false, R"(, "variants": { "mini": { "limits": { "amp": 1 } } })",
         "limit amp on mini: 2 -> 1 | back nothing (more work at once) | forward lost (no more than 1 work at once)\n"},
        {"budget", false, R"(, "budget": 80)",
         "budget 1.1: 100 -> 80 | back nothing (blocks that need more than 100 together may not all run) | forward "
         "nothing (blocks that need more than 80 together may not all run)\n"},
        {"revoiced", false,
         R"(, "revoiced": { "amp.model": { "Weir": { "weight": "audible", "level-change": -2, "note": "less hiss" } } })",
         "revoiced amp.model:  -> audible, 2 dB softer: less hiss +Weir | back revoiced (the same model sounds "
         "different) | forward revoiced (the same model sounds different)\n"},
        {"returns-to", false, R"(, "returns-to": "1.1")",
         "returns-to 1.1:  -> back to 1.1 at the oldest | back refused (the unit does not take 1.0 after it) | forward "
         "nothing\n"},
        {"erases", false, R"(, "erases": ["All presets."])",
         "erases 1.1:  -> All presets. | back nothing (done already) | forward nothing (when it is installed)\n"},
        {"perhaps renamed", false,
         R"(, "parameters": { "delay": null, "echo": { "at": 10, "as": "uint16", "unit": "ms", "range": [0, 1000] } })",
         R"(parameter-added echo:  -> byte 10, byte 11 ? perhaps the new name of delay: it stands in the same place and has the same shape; "renamed-from" says so; as long as nobody says so, one is gone and the other new | back lost (it has nowhere to go) | forward displaced (read from where delay is stored)
)"
         R"(parameter-removed delay: byte 10, byte 11 ->  ? perhaps echo is its new name: it stands in the same place and has the same shape; "renamed-from" says so; as long as nobody says so, one is gone and the other new | back displaced (read from where echo is stored) | forward lost (it has nowhere to go)
)"},
    };
    return rows;
}

}  // namespace downfit::testing
