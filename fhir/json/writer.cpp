#include "fhir/json/writer.hpp"

#include <algorithm>
#include <cstring>
#include <utility>

#include "fhir/json/text_stream.hpp"

namespace nightferry::fhir::json {

namespace {

// About what a value takes when it is written without white space: less only when characters are escaped.
std::size_t bytes_for(const Value& value) {
    std::size_t bytes = value.text().size() + 4;
    for (const Value& child : value)
        bytes += child.name().size() + 4 + bytes_for(child);
    return bytes;
}

// Where RapidJSON's writers put their text. A small text needs no memory but that of the string it ends in; a
// large one is written straight into that string, since moving megabytes about costs more than writing them.
class Sink {
 public:
    using Ch = char;

    explicit Sink(const Value& value) : value_(value) {}
    Sink(const Sink&) = delete;
    Sink& operator=(const Sink&) = delete;

    void Put(char c) {
        if (at_ == end_) grow(1);
        *at_++ = c;
    }
    void Flush() {}

    void add(const char* from, std::size_t bytes) {
        if (bytes > static_cast<std::size_t>(end_ - at_)) grow(bytes);
        std::memcpy(at_, from, bytes);
        at_ += bytes;
    }

    void add_quoted(const char* from, std::size_t bytes) {
        if (bytes + 2 > static_cast<std::size_t>(end_ - at_)) grow(bytes + 2);
        *at_++ = '"';
        std::memcpy(at_, from, bytes);
        at_ += bytes;
        *at_++ = '"';
    }

    std::string take() {
        if (text_.empty()) return {first_, at_};
        text_.resize(static_cast<std::size_t>(at_ - text_.data()));
        return std::move(text_);
    }

 private:
    void grow(std::size_t bytes) {
        const bool first = text_.empty();
        const auto used = static_cast<std::size_t>(at_ - (first ? first_ : text_.data()));
        const std::size_t expected = first ? bytes_for(value_) / 8 * 9 : 2 * used;
        text_.resize(std::max(expected, used + bytes));
        if (first) std::memcpy(text_.data(), first_, used);
        at_ = text_.data() + used;
        end_ = text_.data() + text_.size();
    }

    const Value& value_;
    std::string text_;
    char first_[4096];
    char* at_ = first_;
    char* end_ = first_ + sizeof first_;
};

using RapidWriter = rapidjson::Writer<Sink, KnownUtf8, KnownUtf8, rapidjson::MemoryPoolAllocator<>>;
using RapidPrettyWriter =
    rapidjson::PrettyWriter<Sink, KnownUtf8, KnownUtf8, rapidjson::MemoryPoolAllocator<>>;

// Writes without white space. RapidJSON's writer keeps a level for each holder to know what stands before a
// value; one flag does. Its escaping is used as it is, for the few texts that need any.
class CompactWriter : private RapidWriter {
 public:
    CompactWriter(Sink& sink, StackMemory& memory) : RapidWriter(sink, memory.get()), sink_(sink) {}

    void Null() { put("null"); }
    void Bool(bool value) { put(value ? "true" : "false"); }
    void RawValue(const char* text, std::size_t length, rapidjson::Type) { put({text, length}); }
    void String(const char* text, rapidjson::SizeType length) {
        separate();
        put_string(text, length);
    }
    void Key(const char* text, rapidjson::SizeType length) {
        separate();
        put_string(text, length);
        sink_.Put(':');
        behind_value_ = false;
    }
    void StartObject() { open('{'); }
    void StartArray() { open('['); }
    void EndObject() { close('}'); }
    void EndArray() { close(']'); }

 private:
    void separate() {
        if (behind_value_) sink_.Put(',');
        behind_value_ = true;
    }
    void put(std::string_view word) {
        separate();
        sink_.add(word.data(), word.size());
    }
    void put_string(const char* text, rapidjson::SizeType length) {
        if (plain_end(text) == text + length) {
            sink_.add_quoted(text, length);
        } else {
            WriteString(text, length);
        }
    }
    void open(char bracket) {
        separate();
        sink_.Put(bracket);
        behind_value_ = false;
    }
    void close(char bracket) {
        sink_.Put(bracket);
        behind_value_ = true;
    }

    Sink& sink_;
    bool behind_value_ = false;
};

rapidjson::SizeType length_of(std::string_view text) {
    return static_cast<rapidjson::SizeType>(text.size());
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
            writer.String(value.text().data(), length_of(value.text()));
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
                writer.Key(member.name().data(), length_of(member.name()));
                emit(writer, member);
            }
            writer.EndObject();
            return;
    }
}

}  // namespace

std::string write(const Value& value) {
    Sink sink(value);
    StackMemory memory;
    CompactWriter writer(sink, memory);
    emit(writer, value);
    return sink.take();
}

std::string write_pretty(const Value& value) {
    Sink sink(value);
    StackMemory memory;
    RapidPrettyWriter writer(sink, memory.get());
    writer.SetIndent(' ', 2);
    emit(writer, value);
    sink.Put('\n');
    return sink.take();
}

}  // namespace nightferry::fhir::json
