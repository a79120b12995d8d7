#include "fhir/json/arena.hpp"

#include <algorithm>
#include <new>

namespace nightferry::fhir::json {

namespace {

constexpr std::size_t block_bytes_min = 4 * 1024;
constexpr std::size_t block_bytes_max = 1024 * 1024;

}  // namespace

Arena::Owner Arena::open(std::size_t bytes) {
    constexpr std::size_t head = sizeof(Arena);
    char* memory = static_cast<char*>(::operator new(head + bytes + slack));
    auto* arena = new (memory) Arena;
    arena->next_block_bytes_ = std::clamp(bytes, block_bytes_min, block_bytes_max);
    arena->at_ = memory + head;
    arena->end_ = arena->at_ + bytes;
    return Owner(arena);
}

void Arena::Closer::operator()(Arena* arena) const {
    for (Block* block = arena->newest_; block != nullptr;) {
        Block* older = block->older;
        ::operator delete(block);
        block = older;
    }
    ::operator delete(arena);
}

// A piece of its own block leaves the current one in use: a long text must not strand what is left of it.
char* Arena::take_from_new_block(std::size_t bytes) {
    const bool alone = bytes > next_block_bytes_ / 4;
    const std::size_t room = alone ? bytes : next_block_bytes_;
    char* memory = static_cast<char*>(::operator new(sizeof(Block) + room + slack));
    newest_ = new (memory) Block{newest_};
    char* piece = memory + sizeof(Block);
    if (!alone) {
        at_ = piece + bytes;
        end_ = piece + room;
        next_block_bytes_ = std::min(2 * next_block_bytes_, block_bytes_max);
    }
    return piece;
}

}  // namespace nightferry::fhir::json
