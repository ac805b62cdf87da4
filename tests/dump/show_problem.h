// Problems in the output of a failed check.
#pragma once

#include <string>
#include <variant>

#include "base/problem.h"
#include "support/catch.h"

template <>
struct Catch::StringMaker<downfit::Problem> {
    static std::string convert(const downfit::Problem& problem) {
        std::string text = "\n  ";
        if (const auto* place = std::get_if<downfit::BytePlace>(&problem.place)) {
            text += place->file + " @" + std::to_string(place->offset) + "+" + std::to_string(place->length) +
                    " slot " + std::to_string(place->slot) + ": ";
        }
        return text + problem.what + " | " + problem.expected + " | " + problem.remedy;
    }
};
