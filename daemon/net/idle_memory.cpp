#include "daemon/net/idle_memory.hpp"

#include <link.h>
#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>

#include <ctime>
#include <string_view>
#include <utility>

namespace nightferry::net {

namespace {

// Only what nobody can have written to: the rest is not in any file.
bool is_as_in_its_file(const ElfW(Phdr) & segment) {
    return segment.p_type == PT_LOAD && (segment.p_flags & PF_W) == 0;
}

int give_back(dl_phdr_info* module, std::size_t, void*) {
    // The kernel's own page is in no file.
    if (std::string_view(module->dlpi_name).starts_with("linux-vdso")) return 0;
    static const auto page = static_cast<std::uintptr_t>(::sysconf(_SC_PAGESIZE));
    for (int i = 0; i < module->dlpi_phnum; ++i) {
        const auto& segment = module->dlpi_phdr[i];
        if (!is_as_in_its_file(segment)) continue;
        const std::uintptr_t from = (module->dlpi_addr + segment.p_vaddr) / page * page;
        const std::uintptr_t to = module->dlpi_addr + segment.p_vaddr + segment.p_memsz;
        // Where it is refused, the pages stay.
        (void)::madvise(reinterpret_cast<void*>(from), to - from, MADV_DONTNEED);
    }
    return 0;
}

std::chrono::nanoseconds processor_time() {
    timespec used{};
    ::clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &used);
    return std::chrono::seconds{used.tv_sec} + std::chrono::nanoseconds{used.tv_nsec};
}

}  // namespace

void IdleMemory::look() {
    // A look and what comes with it takes about a tenth of that.
    constexpr std::chrono::milliseconds work{10};
    const std::chrono::nanoseconds before = std::exchange(used_, processor_time());
    if (used_ - before > work || used_ - given_back_ < work) return;
    given_back_ = used_;
    ::malloc_trim(0);
    ::dl_iterate_phdr(give_back, nullptr);
}

}  // namespace nightferry::net
