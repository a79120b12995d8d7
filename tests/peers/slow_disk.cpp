// A disk that takes its time: loaded before the C library, every fsync and fdatasync of the process waits
// first for as many milliseconds as NIGHTFERRY_SYNC_MS says. What was written before is safe only when it
// returns, as ever.
#include <dlfcn.h>

#include <chrono>
#include <cstdlib>
#include <thread>

namespace {

int wait_and_sync(const char* name, int descriptor) {
    using Sync = int (*)(int);
    // A pointer from dlsym may be used as a function on every system that has it.
    const auto real = reinterpret_cast<Sync>(dlsym(RTLD_NEXT, name));
    const char* span = std::getenv("NIGHTFERRY_SYNC_MS");
    std::this_thread::sleep_for(std::chrono::milliseconds{span == nullptr ? 0 : std::atoi(span)});
    return real(descriptor);
}

}  // namespace

extern "C" int fsync(int descriptor) {
    return wait_and_sync("fsync", descriptor);
}

extern "C" int fdatasync(int descriptor) {
    return wait_and_sync("fdatasync", descriptor);
}
