# sidecomb - SPDX-License-Identifier: GPL-3.0-or-later
# Prints tests/reference/gamma_values.h, to be formatted with clang-format. Needs SciPy; the
# tests do not.
import scipy
from scipy.special import gammainccinv, gammaincinv

LOOKS = (0.5, 1, 2, 7.3, 32, 128, 1000, 100000)


def table(name, chances, value):
    print(f"\nstatic const struct gamma_value {name}[] = {{")
    for chance in chances:
        for looks in LOOKS:
            print(f"    {{{chance:g}, {looks:g}, {value(chance, looks):.15g}}},")
    print("};")


print(f"""/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantiles of the gamma distribution, printed by tests/reference/gamma.py with SciPy
 * {scipy.__version__}: chance, shape, value. */
#ifndef SIDECOMB_TESTS_REFERENCE_GAMMA_VALUES_H
#define SIDECOMB_TESTS_REFERENCE_GAMMA_VALUES_H

struct gamma_value {{
  double chance, looks, value;
}};""")
table("mean_over_quantile", (0.1, 0.25, 0.5, 0.75, 0.9),
      lambda q, looks: looks / gammaincinv(looks, q))
table("threshold_over_mean", (1e-2, 1e-3, 1e-6, 1e-9, 1e-12),
      lambda p, looks: gammainccinv(looks, p) / looks)
print("\n#endif")
