// The XML side of a document: the parsed tree that XPath works on, and which node is which.
//
// Internal to dump/document.
#pragma once

#include <string>
#include <unordered_map>

#include <pugixml.hpp>

#include "dump/document.h"

namespace downfit::dump {

struct Document::Xml {
    std::string buffer;  ///< parsed in place: values point into it
    pugi::xml_document tree;
    std::vector<pugi::xml_node> elements;           ///< by node index; null for attributes
    std::unordered_map<std::size_t, int> index_of;  ///< by hash of element or attribute
};

}  // namespace downfit::dump
