"""Writes functions.json: arguments and exact values of the functions of dsp/math.

Each point is "x y e": the bits of the argument and of the value rounded to double (16 hex digits each), and e, how far
the exact value lies beyond the rounded one, in 1/1000 of its ulp. 60-digit arithmetic (mpmath), seeded.
Run: python3 gen_functions.py
"""
import json
import math
import os
import random
import struct

from mpmath import mp, mpf, log as mlog, exp as mexp, sin as msin, cos as mcos, tanh as mtanh, sinh as msinh, cosh as mcosh
from mpmath import expm1 as mexpm1, atan as matan, pi, nint, lambertw, besseli, log1p as mlog1p

mp.dps = 60
rng = random.Random(20261125)


def bits(value):
    return struct.pack('>d', value).hex()


def ulp(value):
    return mpf(2) ** (max(-1022, math.frexp(value)[1] - 1) - 52)


def point(x, f):
    exact = f(mpf(x))
    y = float(exact)
    if math.isinf(y) or y == 0:
        return None
    return f'{bits(x)} {bits(y)} {int(nint((exact - mpf(y)) / ulp(y) * 1000))}'


def around(x):
    return [math.nextafter(x, -math.inf), x, math.nextafter(x, math.inf)]


def uniform(low, high, count):
    return [rng.uniform(low, high) for _ in range(count)]


def spread(low, high, count):
    """Both signs, uniform in the logarithm of the magnitude."""
    return [rng.choice((-1, 1)) * math.exp(rng.uniform(math.log(low), math.log(high))) for _ in range(count)]


def edges(first, last):
    return [x for e in range(first, last + 1) for x in around(2.0 ** e)]


half_ln2 = mlog(mpf(2)) / 2
multiples = [x for k in range(-60, 61) if k for x in around(float(k * half_ln2))]
far_multiples = [float(k * half_ln2) for k in list(range(-2140, -60, 37)) + list(range(61, 2040, 37))]
positive = lambda xs: [abs(x) for x in xs]
quarter_turns = [float(k * pi / 4) for k in list(range(-40, 41)) + [rng.randrange(1, 1273239) for _ in range(400)] if k]

families = {
    'exp': (mexp, uniform(-745, 709.7, 500) + uniform(-1, 1, 300) + spread(1e-18, 1, 60) + multiples + far_multiples
            + uniform(-745.1, -708, 60) + [709.782712893384, -745.1, -708.4]),
    'expm1': (mexpm1, uniform(-45, 709, 200) + uniform(-2, 2, 400) + spread(1e-18, 1, 200) + multiples),
    'log': (mlog, uniform(0.5, 2, 400) + positive(spread(1e-307, 1e307, 400)) + positive(spread(1e-323, 2e-308, 60))
            + edges(-40, 40) + [1 + x for x in spread(1e-15, 0.3, 200)] + around(math.sqrt(2)) + around(math.sqrt(0.5))),
    'log1p': (mlog1p, uniform(-0.999, 3, 400) + spread(1e-18, 0.9, 300) + positive(spread(1, 1e300, 200))
              + [x - 1 for x in around(2 ** 0.5)] + around(-0.2928) + around(0.4142)),
    'tanh': (mtanh, uniform(-3, 3, 400) + spread(1e-300, 22, 400) + [x / 2 for x in multiples] + uniform(-30, 30, 60)),
    'sinh': (msinh, uniform(-3, 3, 200) + spread(1e-300, 709, 200)),
    'cosh': (mcosh, uniform(-3, 3, 200) + spread(1e-3, 709, 100)),
    'sin': (msin, uniform(-7, 7, 300) + spread(1e-300, 1e6, 500) + quarter_turns + uniform(-1e6, 1e6, 200)),
    'cos': (mcos, uniform(-7, 7, 300) + spread(1e-6, 1e6, 500) + quarter_turns + uniform(-1e6, 1e6, 200)),
    'atan': (matan, uniform(-3, 3, 300) + spread(1e-18, 1e18, 300) + around(math.tan(math.pi / 8)) + around(1.0)),
    'log10': (lambda x: mlog(x) / mlog(mpf(10)), positive(spread(1e-300, 1e300, 200)) + uniform(0.5, 2, 200)),
    'log2': (lambda x: mlog(x) / mlog(mpf(2)), positive(spread(1e-300, 1e300, 200)) + uniform(0.5, 2, 200)),
    'decibelsToRatio': (lambda x: mpf(10) ** (x / 20), uniform(-400, 400, 300) + [float(k) for k in range(-200, 201, 3) if k]),
    'ratioToDecibels': (lambda x: 20 * mlog(x) / mlog(mpf(10)), positive(spread(1e-20, 1e20, 300))),
    'lambertW0': (lambda x: lambertw(x).real, uniform(-0.3678, 3, 200) + positive(spread(1e-12, 1e300, 200)) + spread(1e-18, 0.1, 60)
                  + [float(-mexp(-1) + mpf(10) ** -k) for k in range(2, 16)]),
    'besselI0': (lambda x: besseli(0, x), spread(1e-3, 50, 60)),
    'besselI1Scaled': (lambda x: besseli(1, x) * mexp(-abs(x)), spread(1e-3, 500, 60)),
    'besselI5Scaled': (lambda x: besseli(5, x) * mexp(-abs(x)), spread(0.1, 500, 60)),
}

out = {}
for name, (f, xs) in families.items():
    out[name] = [p for p in (point(x, f) for x in xs) if p is not None]
with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), 'functions.json'), 'w') as file:
    json.dump(out, file, indent=0)
    file.write('\n')
print({name: len(points) for name, points in out.items()}, sum(len(p) for p in out.values()))
