// Runs a translated kernel over the two channels of a file and says how long it took: lanes = 2 both at once, lanes = 1 one after the other.
// Words: image of the memory, input and output (float64, all of the left channel, then all of the right), the kernel's base, addresses of two blocks in memory, frames of a block. Prints nanoseconds of
// this thread per sample and channel.
#include <cmath>
#include <ctime>
#include <cstdio>
#include <cstdlib>
#include <vector>

static double threadNanoseconds() {
  timespec now;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return 1e9 * double(now.tv_sec) + double(now.tv_nsec);
}

static std::vector<unsigned char> fileBytes(const char *name) {
  std::FILE *file = std::fopen(name, "rb");
  if (!file) { std::fprintf(stderr, "%s: cannot be read\n", name); std::exit(2); }
  std::vector<unsigned char> bytes;
  unsigned char part[65536];
  for (std::size_t count; (count = std::fread(part, 1, sizeof part, file)) > 0;) bytes.insert(bytes.end(), part, part + count);
  std::fclose(file);
  return bytes;
}

struct Run {
  const std::vector<unsigned char> &image;
  const double *samples;
  const long length;
  double *const output;
  const std::int32_t base, left, right, frames;

  /** Nanoseconds of the first `end` samples. */
  __attribute__((noinline)) double over(long end) const {
    const double start = threadNanoseconds();
#if LANES == 2
    std::memcpy(memory, image.data(), image.size());
    for (long at = 0; at < end; at += frames) {
      const std::int32_t now = std::int32_t(end - at < frames ? end - at : frames);
      std::memcpy(memory + left, samples + at, 8 * now);
      std::memcpy(memory + right, samples + length + at, 8 * now);
      exported_run(base, left, right, now);
      std::memcpy(output + at, memory + left, 8 * now);
      std::memcpy(output + length + at, memory + right, 8 * now);
    }
#else
    for (int channel = 0; channel < 2; channel++) {
      std::memcpy(memory, image.data(), image.size());
      for (long at = 0; at < end; at += frames) {
        const std::int32_t now = std::int32_t(end - at < frames ? end - at : frames);
        std::memcpy(memory + left, samples + channel * length + at, 8 * now);
        exported_run(base, left, now);
        std::memcpy(output + channel * length + at, memory + left, 8 * now);
      }
    }
#endif
    return threadNanoseconds() - start;
  }

  /** All samples, the stack so many bytes deeper. */
  __attribute__((noinline)) double deeper(int bytes) const {
    volatile char *room = static_cast<volatile char *>(__builtin_alloca(bytes + 16));
    room[0] = 0;
    const double spent = over(length);
    room[bytes] = 0;
    return spent;
  }
};

int main(int count, char **words) {
  if (count != 8) { std::fprintf(stderr, "expected image, input, output, base, left, right, frames\n"); return 2; }
  const std::vector<unsigned char> image = fileBytes(words[1]), input = fileBytes(words[2]);
  if (image.size() > memoryBytes) { std::fprintf(stderr, "expected an image of at most %u bytes, got %zu\n", memoryBytes, image.size()); return 2; }
  const std::int32_t base = std::atoi(words[4]), left = std::atoi(words[5]), right = std::atoi(words[6]), frames = std::atoi(words[7]);
  const double *samples = reinterpret_cast<const double *>(input.data());
  const long length = long(input.size() / 16);
  std::vector<double> output(2 * length);
  // Where the stack lies decides by 40 % how fast some kernels are (variables of the function and its memory 4096 bytes apart stand in each other's way), and it lies elsewhere with every path and environment:
  // several places are tried, and the quickest counts. A short run before, so that nothing is cold.
  const Run run{image, samples, length, output.data(), base, left, right, frames};
  run.over(length / 8);
  double spent = run.deeper(0);
  for (const int bytes : {832, 1664, 2496, 3328}) spent = std::fmin(spent, run.deeper(bytes));
  std::FILE *file = std::fopen(words[3], "wb");
  if (!file || std::fwrite(output.data(), 8, output.size(), file) != output.size()) { std::fprintf(stderr, "%s: cannot be written\n", words[3]); return 2; }
  std::fclose(file);
  std::printf("%.6f\n", spent / double(2 * length));
}
