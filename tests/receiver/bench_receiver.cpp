/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* A receiver for tests, as a module that SoapySDR loads. It plays a file of 16-bit IQ pairs round
 * and round in real time: pair i belongs to a moment, so a reader that lost something sees by how
 * much. What goes wrong with receivers goes wrong on request. Keys, from the device's arguments
 * and from the variable SC_BENCH_RECEIVER:
 *
 *   samples=FILE  home=100e6   the frequency that the file was taken at; tuned elsewhere it is
 *                              shifted, and gain 20 dB plays it as it is
 *   rate=2.4e6    the only rate it does         speed=1    times real time
 *   mtu=4096      frames a read gives at most   stamp=1    reads carry the time
 *   overflow=N  timeout=N  corrupt=N  unplug=N  at the pair N of the stream
 *   chatter=TEXT  printed on standard output and error when receivers are looked for
 *   lose=N        pairs that an overflow costs      automatic=1    its gain, until one is set
 */
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <fstream>
#include <iostream>
#include <stdexcept>
#include <thread>

#include <SoapySDR/Device.hpp>
#include <SoapySDR/Formats.hpp>
#include <SoapySDR/Registry.hpp>

namespace {

typedef std::chrono::steady_clock Clock;

class Bench : public SoapySDR::Device {
public:
  explicit Bench(const SoapySDR::Kwargs &args) : args_(args)
  {
    for (const auto &pair : SoapySDR::KwargsFromString(environment()))
      args_[pair.first] = pair.second;
    std::ifstream file(args_["samples"], std::ios::binary);
    file.seekg(0, std::ios::end);
    std::streamoff bytes = file ? std::streamoff(file.tellg()) : 0;
    if (bytes < 4)
      throw std::runtime_error("the bench\n\thas no samples\n"); /* as drivers say it */
    codes_.resize(size_t(bytes) / 4 * 2);
    file.seekg(0);
    file.read(reinterpret_cast<char *>(codes_.data()), std::streamsize(codes_.size() * 2));
    rate_ = number("rate", 2.4e6);
    home_ = tuned_ = number("home", 100e6);
    automatic_ = number("automatic", 0) > 0;
  }

  static std::string environment()
  {
    const char *text = std::getenv("SC_BENCH_RECEIVER");
    return text == nullptr ? "" : text;
  }

  std::string getDriverKey() const override { return "bench_receiver"; }
  size_t getNumChannels(const int direction) const override
  {
    return direction == SOAPY_SDR_RX ? 1 : 0;
  }

  std::vector<std::string> getStreamFormats(const int, const size_t) const override
  {
    return {SOAPY_SDR_CS16};
  }
  std::string getNativeStreamFormat(const int, const size_t, double &full) const override
  {
    full = 32768;
    return SOAPY_SDR_CS16;
  }

  std::vector<std::string> listAntennas(const int, const size_t) const override
  {
    return {"whip", "load"};
  }
  void setAntenna(const int, const size_t, const std::string &name) override { antenna_ = name; }
  std::string getAntenna(const int, const size_t) const override { return antenna_; }

  bool hasFrequencyCorrection(const int, const size_t) const override { return true; }
  void setFrequencyCorrection(const int, const size_t, const double ppm) override { ppm_ = ppm; }
  double getFrequencyCorrection(const int, const size_t) const override { return ppm_; }

  bool hasGainMode(const int, const size_t) const override { return true; }
  void setGainMode(const int, const size_t, const bool is) override { automatic_ = is; }
  bool getGainMode(const int, const size_t) const override { return automatic_; }

  std::vector<std::string> listGains(const int, const size_t) const override { return {"LNA"}; }
  void setGain(const int, const size_t, const double db) override { gain_ = db; }
  void setGain(const int, const size_t, const std::string &, const double db) override
  {
    gain_ = db;
  }
  double getGain(const int, const size_t) const override { return gain_; }
  double getGain(const int, const size_t, const std::string &) const override { return gain_; }
  SoapySDR::Range getGainRange(const int, const size_t) const override { return {0, 40}; }
  SoapySDR::Range getGainRange(const int, const size_t, const std::string &) const override
  {
    return {0, 40};
  }

  void setFrequency(const int, const size_t, const double hz, const SoapySDR::Kwargs &) override
  {
    tuned_ = hz;
  }
  double getFrequency(const int, const size_t) const override { return tuned_; }
  SoapySDR::RangeList getFrequencyRange(const int, const size_t) const override
  {
    return {{24e6, 1766e6}};
  }

  void setSampleRate(const int, const size_t, const double) override {}
  double getSampleRate(const int, const size_t) const override { return rate_; }
  SoapySDR::RangeList getSampleRateRange(const int, const size_t) const override
  {
    return {{rate_, rate_}};
  }
  void setBandwidth(const int, const size_t, const double hz) override { bandwidth_ = hz; }
  double getBandwidth(const int, const size_t) const override { return bandwidth_; }
  SoapySDR::RangeList getBandwidthRange(const int, const size_t) const override
  {
    return {{200e3, 2e6}};
  }

  SoapySDR::Stream *setupStream(const int, const std::string &format, const std::vector<size_t> &,
                                const SoapySDR::Kwargs &) override
  {
    if (format != SOAPY_SDR_CS16)
      throw std::runtime_error("the bench only knows CS16");
    return reinterpret_cast<SoapySDR::Stream *>(this);
  }
  void closeStream(SoapySDR::Stream *) override {}
  int activateStream(SoapySDR::Stream *, const int, const long long, const size_t) override
  {
    started_ = Clock::now();
    return 0;
  }
  int deactivateStream(SoapySDR::Stream *, const int, const long long) override { return 0; }

  int readStream(SoapySDR::Stream *, void *const *buffers, const size_t wanted, int &flags,
                 long long &time_ns, const long timeout_us) override
  {
    if (happened("unplug"))
      return SOAPY_SDR_STREAM_ERROR;
    if (once("timeout")) {
      std::this_thread::sleep_for(std::chrono::microseconds(timeout_us));
      return SOAPY_SDR_TIMEOUT;
    }
    if (once("corrupt"))
      return SOAPY_SDR_CORRUPTION;
    if (once("overflow")) {
      next_ += uint64_t(number("lose", 0));
      return SOAPY_SDR_OVERFLOW;
    }
    size_t count = std::min(wanted, size_t(number("mtu", 4096)));
    wait_for(next_ + count);
    flags = number("stamp", 0) > 0 ? SOAPY_SDR_HAS_TIME : 0;
    time_ns = std::llround(1e9 * double(next_) / rate_);
    play(static_cast<int16_t *>(buffers[0]), count);
    return int(count);
  }

private:
  double number(const std::string &key, double otherwise) const
  {
    auto found = args_.find(key);
    return found == args_.end() ? otherwise : std::atof(found->second.c_str());
  }
  bool happened(const std::string &key) const
  {
    double at = number(key, -1);
    return at >= 0 && double(next_) >= at;
  }
  bool once(const std::string &key)
  {
    bool now = happened(key);
    if (now)
      args_.erase(key);
    return now;
  }
  void wait_for(uint64_t frame) const
  {
    double seconds = double(frame) / (rate_ * number("speed", 1));
    std::this_thread::sleep_until(
        started_ + std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(seconds)));
  }
  static int16_t clip(double code)
  {
    return int16_t(std::lrint(std::fmax(-32768, std::fmin(32767, code))));
  }
  /* Tuned home and neither louder nor softer: as fast as memory. */
  void copy(int16_t *out, size_t count)
  {
    size_t pairs = codes_.size() / 2;
    while (count > 0) {
      size_t at = size_t(next_ % pairs), part = std::min(count, pairs - at);
      std::copy_n(codes_.begin() + std::ptrdiff_t(2 * at), 2 * part, out);
      out += 2 * part;
      next_ += part;
      count -= part;
    }
  }
  void play(int16_t *out, size_t count)
  {
    if (tuned_ == home_ && gain_ == 20)
      return copy(out, count);
    double step = 2 * M_PI * (home_ - tuned_) / rate_, scale = std::pow(10, (gain_ - 20) / 20);
    for (size_t i = 0; i < count; i++, next_++) {
      size_t at = size_t(next_ % (codes_.size() / 2)) * 2;
      double re = codes_[at], im = codes_[at + 1];
      double turn = std::remainder(step * double(next_), 2 * M_PI);
      double c = scale * std::cos(turn), s = scale * std::sin(turn);
      out[2 * i] = clip(re * c - im * s);
      out[2 * i + 1] = clip(re * s + im * c);
    }
  }

  SoapySDR::Kwargs args_;
  std::vector<int16_t> codes_;
  double rate_, home_, tuned_, gain_ = 20, ppm_ = 0, bandwidth_ = 2e6;
  bool automatic_ = false;
  std::string antenna_ = "whip";
  uint64_t next_ = 0;
  Clock::time_point started_;
};

SoapySDR::KwargsList find(const SoapySDR::Kwargs &args)
{
  SoapySDR::Kwargs found = args, told = SoapySDR::KwargsFromString(Bench::environment());
  if (told.count("chatter") > 0) {
    std::cout << told["chatter"] << " on output" << std::endl;
    std::cerr << "\n" << told["chatter"] << " on error\033[2J" << std::endl;
  }
  found["driver"] = "bench_receiver";
  found["label"] = "a receiver on the bench";
  return {found};
}

SoapySDR::Device *make(const SoapySDR::Kwargs &args)
{
  return new Bench(args);
}

SoapySDR::Registry registration("bench_receiver", &find, &make, SOAPY_SDR_ABI_VERSION);

} // namespace
