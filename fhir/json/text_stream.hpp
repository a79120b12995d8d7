// How RapidJSON reads and writes our texts: in place, and runs of plain characters in one step instead of one
// by one.
//
// RapidJSON's own wide steps (RAPIDJSON_SSE2 and its like) stay off: in the release that distributions ship
// they let the control characters from 0x1A to 0x1F pass.
//
// Only this header includes RapidJSON, so that all of it is compiled alike.
#pragma once

// Without this the release that distributions ship inlines its innermost functions only where assertions are
// off.
#define RAPIDJSON_FORCEINLINE __attribute__((always_inline))

#include <rapidjson/allocators.h>
#include <rapidjson/encodings.h>
#include <rapidjson/prettywriter.h>
#include <rapidjson/reader.h>
#include <rapidjson/stream.h>
#include <rapidjson/writer.h>

#include <cstddef>
#include <cstring>

#include "fhir/json/scan.hpp"

namespace nightferry::fhir::json {

// A text of valid UTF-8 in an arena (see scan.hpp), read in place: the characters of a string move to the
// front over its escapes. While RapidJSON is inside a string or a number it works on a copy, so a handler
// sees the stream at the beginning of it.
struct TextStream : rapidjson::GenericInsituStringStream<rapidjson::UTF8<>> {
    TextStream(char* text, bool& half) : GenericInsituStringStream(text), half_a_surrogate(&half) {}

    bool* half_a_surrogate;  // Set when an escape stands for half a character.
};

struct KnownUtf8 : rapidjson::UTF8<> {
    // RapidJSON checks the first half of a surrogate pair only: a second half alone comes here.
    static void Encode(TextStream& to, unsigned code_point) {
        if ((code_point & ~0x7FFU) == 0xD800) *to.half_a_surrogate = true;
        rapidjson::UTF8<>::Encode(to, code_point);
    }
    template <class Output>
    static void Encode(Output& to, unsigned code_point) {
        rapidjson::UTF8<>::Encode(to, code_point);
    }
};

// Memory for RapidJSON's stacks that comes from the heap only for deep documents.
class StackMemory {
 public:
    rapidjson::MemoryPoolAllocator<>* get() { return &pool_; }

 private:
    alignas(std::max_align_t) char first_[1024];
    rapidjson::MemoryPoolAllocator<> pool_{first_, sizeof first_};
};

}  // namespace nightferry::fhir::json

namespace rapidjson {

template <>
struct StreamTraits<nightferry::fhir::json::TextStream> {
    enum { copyOptimization = 1 };
};

template <>
struct Transcoder<nightferry::fhir::json::KnownUtf8, nightferry::fhir::json::KnownUtf8>
    : Transcoder<UTF8<>, UTF8<>> {
    using Transcoder<UTF8<>, UTF8<>>::Transcode;
    using TextStream = nightferry::fhir::json::TextStream;

    // Called where a plain character stands, with one stream as both ends.
    static bool Transcode(TextStream& from, TextStream& to) {
        const char* end = nightferry::fhir::json::plain_end(from.src_);
        const auto length = static_cast<std::size_t>(end - from.src_);
        if (to.dst_ != from.src_) std::memmove(to.dst_, from.src_, length);
        to.dst_ += length;
        from.src_ += length;
        return true;
    }

    template <class Sink>
    static bool TranscodeUnsafe(GenericStringStream<nightferry::fhir::json::KnownUtf8>& from, Sink& to) {
        const char* end = nightferry::fhir::json::plain_end(from.src_);
        to.add(from.src_, static_cast<std::size_t>(end - from.src_));
        from.src_ = end;
        return true;
    }
};

template <>
inline void SkipWhitespace(nightferry::fhir::json::TextStream& stream) {
    stream.src_ += nightferry::fhir::json::behind_white_space(stream.src_) - stream.src_;
}

}  // namespace rapidjson
