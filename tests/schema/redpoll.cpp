#include "schema/redpoll.h"

#include "schema/siskin.h"

namespace downfit::testing {

std::vector<schema::SourceFile> redpoll() {
    return corpus_device("redpoll");
}

std::vector<schema::SourceFile> redpoll_with(std::string_view file, std::string_view find, std::string_view put) {
    return files_with(redpoll(), file, find, put);
}

}  // namespace downfit::testing
