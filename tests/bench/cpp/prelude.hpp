// What translated kernels are made of: the instructions of the WebAssembly core specification 2.0 (W3C 2022) that have no operator of their own in C++. Addresses are unsigned 32-bit, memory is
// one array of bytes at a fixed place, little-endian as the machine is.
#include <cstdint>
#include <cstring>
#include <emmintrin.h>

typedef double v128 __attribute__((vector_size(16)));
typedef std::int64_t i64x2 __attribute__((vector_size(16)));

alignas(64) static unsigned char memory[memoryBytes];

template <typename T> static inline __attribute__((always_inline)) T loaded(std::int32_t address, std::uint32_t offset) {
  T value;
  std::memcpy(&value, memory + std::size_t(std::uint32_t(address)) + offset, sizeof value);
  return value;
}
template <typename T> static inline __attribute__((always_inline)) void stored(std::int32_t address, std::uint32_t offset, T value) {
  std::memcpy(memory + std::size_t(std::uint32_t(address)) + offset, &value, sizeof value);
}
static inline void copied(std::int32_t to, std::int32_t from, std::int32_t bytes) { std::memmove(memory + std::uint32_t(to), memory + std::uint32_t(from), std::uint32_t(bytes)); }

static inline v128 splat(double value) { return v128{value, value}; }
static inline i64x2 bits(v128 value) { return (i64x2)value; }
static inline v128 number(i64x2 value) { return (v128)value; }

static inline std::int64_t reinterpretedBits(double value) { std::int64_t result; std::memcpy(&result, &value, 8); return result; }
static inline double reinterpretedNumber(std::int64_t value) { double result; std::memcpy(&result, &value, 8); return result; }

static inline v128 replacedLane(v128 value, int lane, double with) { value[lane] = with; return value; }
static inline v128 magnitude(v128 value) { return number(bits(value) & i64x2{INT64_MAX, INT64_MAX}); }
static inline v128 root(v128 value) { return (v128)_mm_sqrt_pd((__m128d)value); }
static inline int signMask(v128 value) { return _mm_movemask_pd((__m128d)value); }
/** One bit a lane: 1 where the lane is not 0. */
static inline int filledLanes(v128 value) { return signMask(number(bits(value) != 0)); }
static inline v128 bitSelected(v128 whenOne, v128 whenZero, v128 mask) { return number((bits(whenOne) & bits(mask)) | (bits(whenZero) & ~bits(mask))); }
/** The same for a mask whose lanes are all ones or all zeros. */
static inline v128 laneSelected(v128 whenOne, v128 whenZero, v128 mask) { return bits(mask) < 0 ? whenOne : whenZero; }
