#include "cli/reading.h"

#include <ostream>

#include "report/problems.h"

namespace downfit::cli {

void declare_reading(options::options_description_easy_init add) {
    add("schemas", text_value("DIR"),
        "folder of schema files; else $DOWNFIT_SCHEMAS, ./schemas, or those installed")  //
        ("device", text_value("NAME"), "the device, where the dump alone does not tell")(
            "layout", text_value("NAME"), "the layout to read the files by, for files that nothing tells apart");
}

Result<Reading> read_dumps(const Call& call, const std::vector<std::string>& paths) {
    Reading reading;
    Result<Schemas> schemas = load_schemas(call.text("schemas"), call.text("device"), call.environment);
    if (!schemas) return schemas.problems();
    reading.schemas = std::move(schemas).value();
    std::vector<std::string> read = paths;
    read.insert(read.end(), reading.schemas.files.begin(), reading.schemas.files.end());
    Result<Output> output = find_output(call, read);
    if (!output) return output.problems();
    reading.output = std::move(output).value();
    Problems notes;
    Result<std::vector<Input>> inputs = read_inputs(paths, reading.schemas, call.text("layout"), notes);
    if (!inputs) return inputs.problems();
    reading.inputs = std::move(inputs).value();
    call.err << report::problems_text(reading.schemas.problems) << report::problems_text(notes);
    return reading;
}

}  // namespace downfit::cli
