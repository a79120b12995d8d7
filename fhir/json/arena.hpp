// The memory of one document: handed out piece by piece, given back all at once.
//
// Invariants:
//   (1) Pieces are aligned for a Value and stay where they are until the arena goes.
//   (2) Behind every piece at least `slack` more bytes may be read, so that texts can be scanned in wide
//   steps.
//
// The arena itself lies at the front of its first block: a document that fits costs one piece of heap.
#pragma once

#include <cstddef>
#include <memory>

namespace nightferry::fhir::json {

class Arena {
 public:
    static constexpr std::size_t slack = 16;

    struct Closer {
        void operator()(Arena* arena) const;
    };
    using Owner = std::unique_ptr<Arena, Closer>;

    // An arena that can hand out `bytes` (each piece rounded up to eight) before it asks the heap again.
    static Owner open(std::size_t bytes);

    Arena(const Arena&) = delete;
    Arena& operator=(const Arena&) = delete;

    char* take(std::size_t bytes) {
        const std::size_t rounded = (bytes + alignment - 1) & ~(alignment - 1);
        if (rounded > static_cast<std::size_t>(end_ - at_)) return take_from_new_block(rounded);
        char* piece = at_;
        at_ += rounded;
        return piece;
    }

 private:
    static constexpr std::size_t alignment = 8;

    struct Block {
        Block* older;
    };

    Arena() = default;
    char* take_from_new_block(std::size_t bytes);

    char* at_ = nullptr;
    char* end_ = nullptr;
    Block* newest_ = nullptr;
    std::size_t next_block_bytes_ = 0;
};

}  // namespace nightferry::fhir::json
