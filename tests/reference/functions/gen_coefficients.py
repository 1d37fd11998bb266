"""Derives the polynomial coefficients and split constants of dsp/math.

Chebyshev interpolation in 60-digit arithmetic (mpmath), rounded once to double.
Run: python3 gen_coefficients.py    prints one block for each function, with the
largest relative error of the rounded polynomial against the function it stands for.
"""
from mpmath import mp, mpf, cos, pi, exp, log, sin, sqrt, atan, atanh, lu_solve, matrix, floor, ldexp, frexp

mp.dps = 60


def interpolate(f, low, high, count):
    """Coefficients, constant first, of the polynomial through `count` Chebyshev nodes."""
    nodes = [(low + high) / 2 + (high - low) / 2 * cos(pi * (2 * i + 1) / (2 * count)) for i in range(count)]
    a = matrix(count, count)
    b = matrix(count, 1)
    for i, x in enumerate(nodes):
        for j in range(count):
            a[i, j] = x ** j
        b[i] = f(x)
    return [float(c) for c in lu_solve(a, b)]


def horner(coefficients, x):
    total = mpf(0)
    for c in reversed(coefficients):
        total = total * x + mpf(c)
    return total


def worst(approximation, exact, low, high, points=2001):
    w = mpf(0)
    for i in range(points):
        x = low + (high - low) * (mpf(i) + mpf('0.37')) / points
        w = max(w, abs(approximation(x) / exact(x) - 1))
    return w


def show(name, coefficients, error):
    print(f'{name}   relative error {mp.nstr(error, 3)} = 2^{mp.nstr(log(error) / log(2), 4)}')
    for c in coefficients:
        print(f'  {c!r},')


def head(value, bits):
    """The leading `bits` bits of value, exactly a double."""
    m, e = frexp(value)
    return ldexp(floor(ldexp(m, bits)), e - bits)


# exp: (e^r - 1 - r) / r^2 on |r| <= ln 2 / 2 (a little more, for the rounding of k)
limit = log(2) / 2 * mpf('1.0001')
q = interpolate(lambda r: (exp(r) - 1 - r) / r ** 2, -limit, limit, 10)
show('exp Q', q, worst(lambda r: 1 + r + r * r * horner(q, r), exp, -limit, limit))

# log: (2 atanh s - 2 s) / (s z), z = s^2, for mantissas in [sqrt(1/2), sqrt 2]
zmax = ((sqrt(mpf(2)) - 1) / (sqrt(mpf(2)) + 1)) ** 2 * mpf('1.0001')
c = interpolate(lambda z: (2 * atanh(sqrt(z)) - 2 * sqrt(z)) / (sqrt(z) * z), mpf(0), zmax, 7)
show('log R', c, worst(lambda z: 2 * sqrt(z) + sqrt(z) * z * horner(c, z), lambda z: 2 * atanh(sqrt(z)), mpf(0), zmax))

# sine: (sin r / r - 1) / z; cosine: (cos r - 1 + z/2) / z^2; |r| <= pi/4
zmax = (pi / 4) ** 2 * mpf('1.0001')
c = interpolate(lambda z: (sin(sqrt(z)) / sqrt(z) - 1) / z, mpf(0), zmax, 6)
show('sin S', c, worst(lambda z: 1 + z * horner(c, z), lambda z: sin(sqrt(z)) / sqrt(z), mpf(0), zmax))
c = interpolate(lambda z: (cos(sqrt(z)) - 1 + z / 2) / z ** 2, mpf(0), zmax, 6)
show('cos C', c, worst(lambda z: 1 - z / 2 + z * z * horner(c, z), lambda z: cos(sqrt(z)), mpf(0), zmax))

# arctangent: (atan t / t - 1) / z, |t| <= tan(pi/8)
zmax = (sqrt(mpf(2)) - 1) ** 2 * mpf('1.0001')
c = interpolate(lambda z: (atan(sqrt(z)) / sqrt(z) - 1) / z, mpf(0), zmax, 11)
show('atan A', c, worst(lambda z: 1 + z * horner(c, z), lambda z: atan(sqrt(z)) / sqrt(z), mpf(0), zmax))

print('constants')
ln2 = log(mpf(2))
hi = head(ln2, 21 + 0)
bits = 53 - 32
hi = head(ln2, bits)
print('  LN2 with its low 32 bits cleared', repr(float(hi)), 'rest', repr(float(ln2 - hi)))
print('  LOG2E', repr(float(1 / ln2)), 'rest', repr(float(1 / ln2 - mpf(float(1 / ln2)))))
rest = pi / 2
for i in range(3):
    part = head(rest, 33)
    print('  HALF_PI part', i + 1, repr(float(part)))
    rest -= part
print('  HALF_PI part 4', repr(float(rest)))
print('  2/pi', repr(float(2 / pi)))
print('  pi/4', repr(float(pi / 4)), 'rest', repr(float(pi / 4 - mpf(float(pi / 4)))))
print('  pi/2', repr(float(pi / 2)), 'rest', repr(float(pi / 2 - mpf(float(pi / 2)))))
print('  pi rest', repr(float(pi - mpf(float(pi)))))
v = log(mpf(10)) / 20
print('  ln10/20 24 bits', repr(float(head(v, 24))), 'rest', repr(float(v - head(v, 24))))
v = 1 / log(mpf(10))
print('  log10(e)', repr(float(v)), 'rest', repr(float(v - mpf(float(v)))))
v = 20 / log(mpf(10))
print('  20 log10(e)', repr(float(v)), 'rest', repr(float(v - mpf(float(v)))))
print('  e^-1', repr(float(exp(-1))))
