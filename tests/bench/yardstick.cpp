// The yardstick: the algorithm of dsp/circuit/solver.ts written by hand in C++ for a fixed number of states, transistors and diodes and a fixed
// port of every control, so that the compiler can unroll it. Dense rows (a zero is multiplied like any other), float64, no fused multiply-add,
// the same Newton with tangent prediction and what it missed before, junction limiting and final correction; no rescue: it stops if the plain
// steps do not suffice.
// Input: a text file of numbers written by yardstick.ts. Output: nanoseconds per sample, and the last output volts.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <vector>

static inline double powerOfTwo(int k) {
  std::uint64_t bits = std::uint64_t(k + 1023) << 52;
  double value;
  std::memcpy(&value, &bits, sizeof value);
  return value;
}

static inline double expOwn(double x) {
  if (x < -100) x = -100;
  if (x > 700) x = 700;
  const double k = (x * 1.4426950408889634 + 6755399441055744.0) - 6755399441055744.0;
  const double r = (x - k * 0.6931467056274414) - k * 4.7493250390316726e-7;
  const double r2 = r * r, r4 = r2 * r2;
  const double q = (0.5000000000000001 + 0.16666666666666669 * r + (0.04166666666662413 + 0.008333333333330062 * r) * r2) +
                   (0.0013888888917213717 + 0.00019841269863053618 * r + (2.4801521295954376e-5 + 2.7557268459997064e-6 * r) * r2) * r4 +
                   (2.7620088445409746e-7 + 2.510038549551032e-8 * r) * (r4 * r4);
  return (1 + (r + r2 * q)) * powerOfTwo(int(k));
}

template <int N, int Bipolars, int Diodes, int... Ports>
struct Circuit {
  static constexpr int M = 2 * Bipolars + Diodes, R = M;
  static constexpr int port[] = {Ports...};
  static constexpr int P = std::max({Ports...}) + 1;
  static_assert(sizeof...(Ports) == M, "one port per control");
  double portConstant[P], portInput[P], portMemory[P][N ? N : 1], feedback[P][R];
  double rowConstant[N + 1], rowInput[N + 1], rowMemory[N + 1][N ? N : 1], rowCurrent[N + 1][R];
  double parameters[Bipolars + Diodes][5], width[M], critical[M], sign[M], offset[M], scale[P];
  int order[P];
  double missed[P] = {};
  double z[N ? N : 1], x[P], v[M], i[R], jacobian[Bipolars + Diodes][4], factors[P][P];
  long evaluations = 0;

  void evaluate() {
    evaluations++;
    for (int c = 0; c < M; c++) v[c] = sign[c] * x[port[c]] + offset[c];
    for (int d = 0; d < Bipolars; d++) {
      const double *p = parameters[Diodes + d];
      const double vc = v[Diodes + 2 * d + 1];
      const double forward = expOwn(v[Diodes + 2 * d] * p[1]), reverse = expOwn(vc * p[1]);
      const double widening = 1 - vc * p[4], linking = p[0] * (forward - reverse), transport = linking * widening;
      const double byEmitter = p[0] * forward * p[1] * widening, byCollector = -(p[0] * reverse * p[1] * widening) - linking * p[4];
      i[Diodes + 2 * d] = transport + p[2] * (forward - 1);
      i[Diodes + 2 * d + 1] = p[3] * (reverse - 1) - transport;
      jacobian[Diodes + d][0] = byEmitter + p[2] * forward * p[1];
      jacobian[Diodes + d][1] = byCollector;
      jacobian[Diodes + d][2] = -byEmitter;
      jacobian[Diodes + d][3] = p[3] * reverse * p[1] - byCollector;
    }
    for (int d = 0; d < Diodes; d++) {
      const double *p = parameters[d];
      const double grown = p[0] * expOwn(v[d] * p[1]);
      i[d] = grown - p[0];
      jacobian[d][0] = grown * p[1];
    }
    for (int k = 0; k < P; k++) {
      const int row = order[k];
      double sums[P];
      for (int b = 0; b < P; b++) sums[b] = row == b ? 1.0 : 0.0;
      for (int d = 0; d < Diodes; d++) sums[port[d]] -= feedback[row][d] * (sign[d] * jacobian[d][0]);
      for (int d = 0; d < Bipolars; d++)
        for (int c = 0; c < 2; c++)
          for (int r = 0; r < 2; r++) {
            const int first = Diodes + 2 * d;
            sums[port[first + c]] -= feedback[row][first + r] * (sign[first + c] * jacobian[Diodes + d][2 * r + c]);
          }
      for (int b = 0; b < P; b++) factors[k][b] = sums[b];
    }
    for (int k = 0; k < P; k++) {
      factors[k][k] = 1 / factors[k][k];
      for (int r = k + 1; r < P; r++) {
        const double l = factors[r][k] * factors[k][k];
        factors[r][k] = l;
        for (int c = k + 1; c < P; c++) factors[r][c] -= l * factors[k][c];
      }
    }
  }

  double limited(int k, double d) const {
    if (!(std::fabs(d) > 2 * width[k]) || !(v[k] + d > critical[k])) return d;
    if (v[k] > 0) {
      const double growth = 1 + d / width[k];
      return growth > 0 ? width[k] * std::log(growth) : critical[k] - v[k];
    }
    return width[k] * std::log((v[k] + d) / width[k]) - v[k];
  }

  double step(double u) {
    double p[P], g[P], c[R], predicted[P];
    for (int r = 0; r < P; r++) {
      double sum = portConstant[r] + portInput[r] * u;
      for (int k = 0; k < N; k++) sum += portMemory[r][k] * z[k];
      p[r] = sum;
    }
    for (int steps = 0;; steps++) {
      for (int k = 0; k < P; k++) {
        const int row = order[k];
        double sum = p[row] - x[row];
        for (int r = 0; r < R; r++) sum += feedback[row][r] * i[r];
        for (int a = 0; a < k; a++) sum -= factors[k][a] * g[a];
        g[k] = sum;
      }
      for (int k = P - 1; k >= 0; k--) {
        double sum = g[k];
        for (int a = k + 1; a < P; a++) sum -= factors[k][a] * g[a];
        g[k] = sum * factors[k][k];
      }
      double error = 0;
      for (int k = 0; k < P; k++) error = std::fmax(error, std::fabs(g[k]) / scale[k]);
      if (error < 1e-4) {
        for (int k = 0; k < P; k++) missed[k] = steps == 0 ? 0 : x[k] + g[k] - predicted[k];
        break;
      }
      if (steps == 8) { std::fprintf(stderr, "not converged\n"); std::exit(1); }
      double taken[P];
      for (int k = 0; k < P; k++) taken[k] = g[k];
      for (int k = 0; k < M; k++) {
        const double part = sign[k] * limited(k, sign[k] * g[port[k]]);
        if (std::fabs(part) < std::fabs(taken[port[k]])) taken[port[k]] = part;
      }
      for (int k = 0; k < P; k++) {
        double to = x[k] + taken[k];
        if (steps == 0) {
          predicted[k] = to;
          if (taken[k] == g[k] && std::fabs(missed[k]) <= 0.25 * std::fabs(taken[k])) to += missed[k];
        }
        x[k] = to;
      }
      evaluate();
    }
    for (int d = 0; d < Diodes; d++) c[d] = i[d] + sign[d] * jacobian[d][0] * g[port[d]];
    for (int d = 0; d < Bipolars; d++)
      for (int r = 0; r < 2; r++) {
        const int first = Diodes + 2 * d;
        c[first + r] = i[first + r] + sign[first] * jacobian[Diodes + d][2 * r] * g[port[first]] + sign[first + 1] * jacobian[Diodes + d][2 * r + 1] * g[port[first + 1]];
      }
    double next[N + 1];
    for (int r = 0; r <= N; r++) {
      double sum = rowConstant[r] + rowInput[r] * u;
      for (int k = 0; k < N; k++) sum += rowMemory[r][k] * z[k];
      for (int k = 0; k < R; k++) sum += rowCurrent[r][k] * c[k];
      next[r] = sum;
    }
    for (int k = 0; k < N; k++) z[k] = std::fabs(next[k]) < 1e-30 ? 0 : next[k];
    return next[N];
  }
};

static std::vector<double> numbers;
static std::size_t at = 0;
static double take() { return numbers.at(at++); }

template <int N, int Bipolars, int Diodes, int... Ports>
static bool run(int states, int bipolars, int diodes, const std::vector<int> &ports) {
  if (states != N || bipolars != Bipolars || diodes != Diodes || ports != std::vector<int>{Ports...}) return false;
  static Circuit<N, Bipolars, Diodes, Ports...> circuit;
  constexpr int M = circuit.M, R = circuit.R, P = circuit.P;
  for (int r = 0; r < P; r++) {
    circuit.portConstant[r] = take(), circuit.portInput[r] = take();
    for (int k = 0; k < N; k++) circuit.portMemory[r][k] = take();
    for (int k = 0; k < R; k++) circuit.feedback[r][k] = take();
  }
  for (int r = 0; r <= N; r++) {
    circuit.rowConstant[r] = take(), circuit.rowInput[r] = take();
    for (int k = 0; k < N; k++) circuit.rowMemory[r][k] = take();
    for (int k = 0; k < R; k++) circuit.rowCurrent[r][k] = take();
  }
  for (int d = 0; d < Bipolars + Diodes; d++)
    for (int k = 0; k < (d < Diodes ? 2 : 5); k++) circuit.parameters[d][k] = take();
  for (int k = 0; k < M; k++) circuit.width[k] = take(), circuit.critical[k] = take(), circuit.sign[k] = take(), circuit.offset[k] = take();
  for (int k = 0; k < P; k++) circuit.scale[k] = take(), circuit.order[k] = int(take()), circuit.x[k] = take();
  for (int k = 0; k < N; k++) circuit.z[k] = take();
  const int samples = int(take());
  circuit.evaluate();
  double last = 0;
  const auto start = std::chrono::steady_clock::now();
  for (int n = 0; n < samples; n++) last = circuit.step(numbers[at + n]);
  const double nanoseconds = std::chrono::duration<double, std::nano>(std::chrono::steady_clock::now() - start).count();
  std::printf("%.6f %.17g\n", nanoseconds / samples, last);
  return true;
}

int main(int count, char **words) {
  if (count != 2) { std::fprintf(stderr, "expected one file of numbers\n"); return 2; }
  std::FILE *file = std::fopen(words[1], "r");
  if (!file) { std::fprintf(stderr, "%s: cannot be read\n", words[1]); return 2; }
  for (double value; std::fscanf(file, "%lf", &value) == 1;) numbers.push_back(value);
  std::fclose(file);
  const int states = int(take()), bipolars = int(take()), diodes = int(take());
  std::vector<int> ports;
  for (int k = 0; k < 2 * bipolars + diodes; k++) ports.push_back(int(take()));
  const bool known = run<4, 1, 0, 0, 1>(states, bipolars, diodes, ports)
    // Followers with a diode at each base, the bases behind resistances of their own or tied to one drive.
    || run<0, 2, 2, 0, 1, 2, 0, 3, 1>(states, bipolars, diodes, ports) || run<1, 2, 2, 0, 1, 2, 0, 3, 1>(states, bipolars, diodes, ports)
    || run<0, 2, 2, 0, 0, 1, 0, 2, 0>(states, bipolars, diodes, ports) || run<1, 2, 2, 0, 0, 1, 0, 2, 0>(states, bipolars, diodes, ports)
    || run<0, 2, 0, 0, 1, 2, 3>(states, bipolars, diodes, ports) || run<0, 2, 0, 0, 1, 2, 1>(states, bipolars, diodes, ports)
    || run<2, 2, 0, 0, 1, 2, 3>(states, bipolars, diodes, ports) || run<2, 2, 0, 0, 1, 2, 1>(states, bipolars, diodes, ports);
  if (!known) {
    std::fprintf(stderr, "no circuit of %d states, %d transistors, %d diodes with ports", states, bipolars, diodes);
    for (int port : ports) std::fprintf(stderr, " %d", port);
    std::fprintf(stderr, "\n");
    return 2;
  }
}
