# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Prints tests/reference/welch_values.h, to be formatted with clang-format: averaged spectra by
# scipy.signal.welch of noise that the test makes again from the same integers. Needs NumPy
# and SciPy; the tests do not.
import numpy
import scipy
from scipy import signal
from scipy.signal import windows

MASK = (1 << 64) - 1
# The coefficients of HFT144D without their signs, which general_cosine() sets itself.
HFT144D = (1, 1.96760033, 1.57983607, 0.81123644, 0.22583558, 0.02773848, 0.00090360)


def uniform(seed, count):
    """support_uniform(): splitmix64, top 24 bits, as a multiple of 2^-23 in -1...1."""
    values = numpy.empty(count)
    for i in range(count):
        seed = (seed + 0x9E3779B97F4A7C15) & MASK
        z = seed
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & MASK
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & MASK
        z ^= z >> 31
        values[i] = ((z >> 40) - (1 << 23)) / (1 << 23)
    return values


def window(name, length, beta):
    if name == "RECTANGULAR":
        return numpy.ones(length)
    if name == "HANN":
        return windows.hann(length, sym=False)
    if name == "BLACKMAN_HARRIS":
        return windows.blackmanharris(length, sym=False)
    if name == "FLAT_TOP":
        return windows.general_cosine(length, HFT144D, sym=False)
    return windows.kaiser(length, beta, sym=False)


def samples(case):
    """Noise, and a carrier of amplitude 1 that repeats every 64 frames, in single precision."""
    parts = 2 if case["complex"] else 1
    x = case["noise"] * uniform(case["seed"], parts * case["frames"])
    x = x[::2] + 1j * x[1::2] if case["complex"] else x
    turns = (case["cycles"] * numpy.arange(case["frames"]) % 64) / 64
    carrier = numpy.exp(2j * numpy.pi * turns) if case["cycles"] else 0 * turns
    x = x + (carrier if case["complex"] else carrier.real)
    return x.astype(numpy.complex64 if case["complex"] else numpy.float32)


def spectrum(case):
    shape = window(case["window"], case["length"], case["beta"])
    x = samples(case)
    x = x.astype(numpy.complex128 if case["complex"] else numpy.float64)
    _, power = signal.welch(x, window=shape, noverlap=case["length"] - case["hop"], detrend=False,
                            return_onesided=not case["complex"], scaling="spectrum")
    # A full-scale sine has the power 1/2 there and reads 1 here.
    return numpy.fft.fftshift(power) if case["complex"] else 2 * power


CASES = [
    dict(complex=True, window="HANN", beta=0, length=256, hop=128, frames=5000, seed=1001),
    dict(complex=False, window="HANN", beta=0, length=240, hop=120, frames=5000, seed=1002),
    dict(complex=True, window="BLACKMAN_HARRIS", beta=0, length=210, hop=70, frames=4000,
         seed=1003),
    dict(complex=False, window="KAISER", beta=9.5, length=256, hop=100, frames=4000, seed=1004),
    dict(complex=True, window="RECTANGULAR", beta=0, length=128, hop=128, frames=3000, seed=1005),
    dict(complex=True, window="FLAT_TOP", beta=0, length=240, hop=48, frames=4000, seed=1006,
         cycles=9, noise=2.0**-23),
    dict(complex=False, window="FLAT_TOP", beta=0, length=250, hop=50, frames=4000, seed=1007,
         cycles=13, noise=2.0**-22),
]

print(f"""/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Averaged spectra printed by tests/reference/welch.py with SciPy {scipy.__version__} and NumPy
 * {numpy.__version__}. */
#ifndef SIDECOMB_TESTS_REFERENCE_WELCH_VALUES_H
#define SIDECOMB_TESTS_REFERENCE_WELCH_VALUES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <sidecomb/spectrum.h>
""")
rows = []
for number, case in enumerate(CASES):
    case.setdefault("cycles", 0)
    case.setdefault("noise", 1)
    power = spectrum(case)
    print(f"static const double welch_{number}[{len(power)}] = {{")
    print("\n".join(f"    {value:.17g}," for value in power))
    print("};\n")
    rows.append(f"""    {{{str(case["complex"]).lower()}, SC_WINDOW_{case["window"]}, {case["beta"]}, """
                f"""{case["length"]}, {case["hop"]}, {case["frames"]}, {case["seed"]}, """
                f"""{case["noise"]!r}, {case["cycles"]}, {len(power)}, welch_{number}}},""")
print("""static const struct welch_case {
  bool complex_input;
  enum sc_window window;
  double beta;
  size_t length, hop, frames;
  uint64_t seed;
  double noise;
  unsigned cycles; /* of the carrier, in 64 frames */
  size_t points;
  const double *power;
} welch_cases[] = {""")
print("\n".join(rows))
print("};\n\n#endif")
