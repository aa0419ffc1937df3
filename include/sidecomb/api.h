/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The mark of what the library exports, and attributes that a compiler can check. */
#ifndef SIDECOMB_API_H
#define SIDECOMB_API_H

#if defined(__GNUC__)
#define SC_API __attribute__((visibility("default")))
#define SC_MUST_USE __attribute__((warn_unused_result))
#define SC_PRINTF(text, first) __attribute__((format(printf, text, first)))
#else
#define SC_API
#define SC_MUST_USE
#define SC_PRINTF(text, first)
#endif

#endif
