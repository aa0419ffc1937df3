/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The limits that standards set to every FM stereo transmitter. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <sidecomb/limits.h>

/* Only numbers that were read in their source. What the place's own rules add, the user writes
 * into a file. */
const char *sc_limits_standard(void)
{
  return "channel.error_hz within 2000 ; 47 CFR 73.1545(b), above 10 W (3000 Hz up to 10 W)\n"
         "deviation.corrected_peak_khz at most 75 ; ITU-R BS.450-3; 47 CFR 73.1570(b)\n"
         "deviation.composite_power_dbr at most 0 ; ITU-R BS.412-9, 2.5.1 (where it is in force)\n"
         "pilot.frequency_error_hz within 2 ; 47 CFR 73.322(a)(1); ITU-R BS.450-3\n"
         "pilot.deviation_khz from 6 to 7.5 ; 47 CFR 73.322(a)(2); ITU-R BS.450-3\n"
         "difference.carrier_residual_percent at most 1 ; ITU-R BS.450-3; 47 CFR 73.322(a)(5)\n";
}
