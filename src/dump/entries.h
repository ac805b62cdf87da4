// Internal to dump/: what many of its sources ask of a dump as read.
#pragma once

#include "dump/dump.h"

namespace downfit::dump {

[[nodiscard]] inline bool is_damaged(const Entry& entry) {
    return entry.state == SlotState::damaged;
}

/// The pattern that the message was read by.
[[nodiscard]] inline const schema::MessagePattern& pattern_of(const Dump& dump, const Message& message) {
    return dump.device->framings[message.framing].messages[message.pattern];
}

}  // namespace downfit::dump
