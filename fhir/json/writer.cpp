#include "fhir/json/writer.hpp"

#include <rapidjson/prettywriter.h>
#include <rapidjson/stringbuffer.h>
#include <rapidjson/writer.h>

namespace nightferry::fhir::json {

namespace {

rapidjson::SizeType length_of(std::string_view text) {
    return static_cast<rapidjson::SizeType>(text.size());
}

// RapidJSON refuses a null pointer even for an empty text.
const char* start_of(std::string_view text) {
    return text.empty() ? "" : text.data();
}

template <class Writer>
void emit(Writer& writer, const Value& value) {
    switch (value.kind()) {
        case Kind::null:
            writer.Null();
            return;
        case Kind::boolean:
            writer.Bool(value.boolean());
            return;
        case Kind::string:
            writer.String(start_of(value.text()), length_of(value.text()));
            return;
        case Kind::number:
            // RawNumber() of the packaged RapidJSON puts quotes around its text; RawValue() does not.
            writer.RawValue(value.text().data(), value.text().size(), rapidjson::kNumberType);
            return;
        case Kind::array:
            writer.StartArray();
            for (const Value& item : value)
                emit(writer, item);
            writer.EndArray();
            return;
        case Kind::object:
            writer.StartObject();
            for (const Value& member : value) {
                writer.Key(start_of(member.name()), length_of(member.name()));
                emit(writer, member);
            }
            writer.EndObject();
            return;
    }
}

}  // namespace

std::string write(const Value& value) {
    rapidjson::StringBuffer buffer;
    rapidjson::Writer<rapidjson::StringBuffer> writer(buffer);
    emit(writer, value);
    return {buffer.GetString(), buffer.GetSize()};
}

std::string write_pretty(const Value& value) {
    rapidjson::StringBuffer buffer;
    rapidjson::PrettyWriter<rapidjson::StringBuffer> writer(buffer);
    writer.SetIndent(' ', 2);
    emit(writer, value);
    std::string text(buffer.GetString(), buffer.GetSize());
    text += '\n';
    return text;
}

}  // namespace nightferry::fhir::json
