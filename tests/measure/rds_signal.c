/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* RDS as the standard has it, bit by bit. */
#include "measure/rds_signal.h"

#include <complex.h>
#include <math.h>
#include <string.h>

#include "measure/rds_bits.h"
#include "support/random.h"

#define PI 3.1415926535897932384626433832795

/* The pulse's tails beyond REACH bits are below -100 dB. */
enum {
  REACH = 6,
  TAPS = RDS_SIGNAL_TAPS,
  STEPS = 1024,
  SIMPSON = 512,
  RUN = 512,
  GROUP_BITS = 104
};
static const double crest =
    2.0403; /* peak of random data over its rms as a subcarrier (computed) */

/* shape[i][j]: a bit at (i / STEPS + j - REACH) bits after its start */
static float shape[STEPS + 1][TAPS];
static double shape_rms;

/* ---- the pulse */

/* Half a bit: the integral of cos(pi f / 4) cos(2 pi f x) for f from 0 to 2, in bits, over that of
 * the first factor, 4 / pi. */
static double half(const double *weight, double x)
{
  const double turn = 2.0 * cos(4.0 * PI * x / SIMPSON);
  double now = 1.0, last = turn / 2.0, sum = 0.0;
  for (int i = 0; i <= SIMPSON; i++) {
    sum += weight[i] * now;
    const double next = turn * now - last;
    last = now;
    now = next;
  }
  return sum;
}

static void fill_weights(double *weight)
{
  const double scale = 2.0 / SIMPSON / 3.0 * PI / 4.0;
  for (int i = 0; i <= SIMPSON; i++)
    weight[i] = scale * cos(PI * i / SIMPSON / 2.0) *
                (i == 0 || i == SIMPSON ? 1.0
                 : i % 2                ? 4.0
                                        : 2.0);
}

static void fill_shape(void)
{
  static double halves[TAPS * STEPS + STEPS / 2 + 1];
  double weight[SIMPSON + 1], sum = 0.0;
  if (shape_rms > 0.0)
    return;
  fill_weights(weight);
  for (int i = 0; i <= TAPS * STEPS + STEPS / 2; i++)
    halves[i] = half(weight, (double)i / STEPS - REACH - 0.5);
  for (int i = 0; i <= STEPS; i++)
    for (int j = 0; j < TAPS; j++) {
      const int at = i + j * STEPS;
      const double w = halves[at + STEPS / 2] - halves[at];
      shape[i][j] = (float)w;
      sum += i < STEPS ? w * w : 0.0;
    }
  shape_rms = sqrt(sum / STEPS);
}

/* ---- setting up */

void rds_signal_init(struct rds_signal *signal)
{
  memset(signal, 0, sizeof *signal);
  signal->rate_hz = 192e3;
  signal->pilot_khz = 6.75;
  signal->pilot_hz = 19e3;
}

static void add(struct rds_signal *s, uint16_t b, uint16_t c, uint16_t d)
{
  const uint16_t group[4] = {0xc4a7, b, c, d};
  memcpy(s->groups[s->group_count++], group, sizeof group);
}

static uint16_t two(const char *text)
{
  return (uint16_t)((unsigned char)text[0] << 8 | (unsigned char)text[1]);
}

/* Layouts of groups 0A, 1A and 2A: IEC 62106-2, from memory. PTY 10, music, one AF of 96.7 MHz. */
void rds_signal_station(struct rds_signal *signal)
{
  static const char name[] = "KITEFELL", text[] = "Wind from the ridge\r";
  for (unsigned i = 0; i < 4; i++)
    add(signal, (uint16_t)(0x0148 | i), i % 2 == 0 ? 0xe15c : 0xcdcd, two(name + 2 * i));
  for (unsigned i = 0; 4 * i < sizeof text - 1; i++)
    add(signal, (uint16_t)(0x2140 | i), two(text + 4 * i), two(text + 4 * i + 2));
  for (unsigned i = 0; i < 4; i++)
    add(signal, (uint16_t)(0x0148 | i), 0xcdcd, two(name + 2 * i));
  add(signal, 0x1140, 0x00e1, 0);
}

static void sign_groups(struct rds_signal *s)
{
  bool last = s->inverted;
  s->sign_count = 2 * s->group_count * GROUP_BITS; /* an even number of turns, so it closes */
  for (size_t g = 0; g < 2 * s->group_count; g++) {
    uint8_t bits[GROUP_BITS];
    rds_group_bits(s->groups[g % s->group_count], bits);
    for (size_t i = 0; i < GROUP_BITS; i++) {
      last ^= bits[i];
      s->sign[g * GROUP_BITS + i] = last ? 1 : -1;
    }
  }
}

void rds_signal_start(struct rds_signal *signal)
{
  struct rds_signal *s = signal;
  fill_shape();
  s->frames = 0;
  s->last_noise = 0.0;
  s->has_spare = false;
  s->near_bit = -1.0;
  if (s->group_count > 0) {
    sign_groups(s);
    return;
  }
  s->sign_count = RDS_SIGNAL_BITS_MAX;
  for (size_t i = 0; i < s->sign_count; i++)
    s->sign[i] = support_random(&s->seed) >> 63 ? 1 : -1;
}

/* ---- samples */

static double wave(struct rds_signal *s, double bits)
{
  const double whole = floor(bits);
  const float *w = shape[(size_t)((bits - whole) * STEPS + 0.5)];
  if (whole != s->near_bit) {
    const size_t first = (size_t)whole + s->sign_count + REACH;
    for (size_t j = 0; j < TAPS; j++)
      s->near[j] = s->sign[(first - j) % s->sign_count];
    s->near_bit = whole;
  }
  float sum = 0.0F;
  for (size_t j = 0; j < TAPS; j++)
    sum += s->near[j] * w[j];
  return (double)sum;
}

static void run_some(struct rds_signal *s, float *khz, size_t count)
{
  const double hz = s->hz > 0.0 ? s->hz : 3.0 * s->pilot_hz;
  const double start_s = (double)s->frames / s->rate_hz;
  const double bits_a_frame = hz / 48.0 / s->rate_hz, start = hz / 48.0 * start_s;
  const double gain = s->khz * sqrt(2.0) / crest / shape_rms;
  const double phase = 3.0 * s->pilot_phase_rad + s->phase_rad;
  double complex pilot = cexp(I * (2.0 * PI * s->pilot_hz * start_s + s->pilot_phase_rad));
  double complex carrier = cexp(I * (2.0 * PI * hz * start_s + phase));
  const double complex pilot_step = cexp(2.0 * PI * I * s->pilot_hz / s->rate_hz);
  const double complex step = cexp(2.0 * PI * I * hz / s->rate_hz);
  for (size_t i = 0; i < count; i++, pilot *= pilot_step, carrier *= step) {
    double value = s->pilot_khz * cimag(pilot);
    if (gain > 0.0)
      value += gain * wave(s, start + (double)i * bits_a_frame) * cimag(carrier);
    khz[i] = (float)value;
  }
  s->frames += count;
}

void rds_signal_run(struct rds_signal *signal, float *khz, size_t count)
{
  for (size_t done = 0; done < count; done += RUN)
    run_some(signal, khz + done, count - done < RUN ? count - done : RUN);
  rds_signal_add_noise(signal, khz, count);
}

void rds_signal_add_noise(struct rds_signal *signal, float *khz, size_t count)
{
  struct rds_signal *s = signal;
  const double density = 57e3 * 57e3 * s->noise_ratio * 1e-6; /* kHz^2/Hz */
  const double white = 2.0 / s->rate_hz * 4.0 * pow(sin(PI * 57e3 / s->rate_hz), 2.0);
  const double gain = sqrt(density / white);
  for (size_t i = 0; gain > 0.0 && i < count; i++) {
    if (!s->has_spare)
      support_normal_pair(&s->seed, s->normals);
    const double now = s->normals[s->has_spare];
    s->has_spare = !s->has_spare;
    khz[i] += (float)(gain * (now - s->last_noise));
    s->last_noise = now;
  }
}

/* ---- theory */

static double decision_at(double db)
{
  return 0.5 * erfc(sqrt(pow(10.0, db / 10.0)));
}

static double unit_khz(double ratio)
{
  return crest * sqrt(1187.5 * 57e3 * 57e3 * ratio) / 1e3;
}

double rds_theory_decision(double khz, double ratio)
{
  return decision_at(20.0 * log10(khz / unit_khz(ratio)));
}

double rds_theory_bit(double decision)
{
  return 2.0 * decision * (1.0 - decision);
}

double rds_theory_block(double decision)
{
  return 1.0 - pow(1.0 - decision, 27.0);
}

double rds_theory_db(double (*of)(double decision), double wanted)
{
  double low = -10.0, high = 20.0;
  while (high - low > 1e-6) {
    const double middle = (low + high) / 2.0;
    if (of(decision_at(middle)) > wanted)
      low = middle;
    else
      high = middle;
  }
  return low;
}

double rds_theory_khz(double db, double ratio)
{
  return unit_khz(ratio) * pow(10.0, db / 20.0);
}
