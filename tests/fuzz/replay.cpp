// Runs one fuzz target over the files of a folder: the ordinary tests' way to keep targets and corpora alive.
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int main(int argc, char** argv) {
    if (argc != 2) {
        std::fprintf(stderr, "usage: %s FOLDER\n", argv[0]);
        return 64;
    }
    int inputs = 0;
    for (const auto& item : std::filesystem::directory_iterator(argv[1])) {
        std::ifstream stream(item.path(), std::ios::binary);
        const std::string text{std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
        // Whoever has to look into an abort wants to know the file.
        std::printf("%s\n", item.path().filename().c_str());
        std::fflush(stdout);
        LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(text.data()), text.size());
        ++inputs;
    }
    std::printf("%d inputs\n", inputs);
    return inputs == 0 ? 1 : 0;
}
