/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels side by side. Taking off each tag the widths of those before it turns "no overlap" into
 * "no order reversed", and the least squares solution of that is the isotonic regression by
 * pooling of adjacent violators (Ayer et al., Ann. Math. Stat. 26, 1955, from memory); held within
 * bounds it stays the solution. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <math.h>

#include "report/plot_layout.h"

/* Tags first to last touch; all are shifted alike. */
struct pool {
  size_t first;
  double sum; /* of their peaks, each less the room before it */
  double count;
};

enum { POOLS_MAX = SC_LISTED_MAX };

static double room_before(const struct plot_tag *tags, size_t i)
{
  double room = 0;
  for (size_t k = 0; k < i; k++)
    room += (tags[k].width + tags[k + 1].width) / 2;
  return room;
}

bool plot_tags_spread(struct plot_tag *tags, size_t count, double low, double high)
{
  struct pool pools[POOLS_MAX];
  size_t used = 0;
  double total = 0;
  if (count == 0)
    return true;
  for (size_t i = 0; i < count; i++)
    total += tags[i].width;
  if (count > POOLS_MAX || total > high - low)
    return false;
  for (size_t i = 0; i < count; i++) {
    pools[used++] = (struct pool){i, tags[i].at - room_before(tags, i), 1};
    while (used > 1 && pools[used - 2].sum / pools[used - 2].count >
                           pools[used - 1].sum / pools[used - 1].count) {
      pools[used - 2].sum += pools[used - 1].sum;
      pools[used - 2].count += pools[used - 1].count;
      used--;
    }
  }
  double least = low + tags[0].width / 2;
  double most = high - tags[count - 1].width / 2 - room_before(tags, count - 1);
  for (size_t p = 0; p < used; p++) {
    size_t end = p + 1 < used ? pools[p + 1].first : count;
    double shift = fmin(fmax(pools[p].sum / pools[p].count, least), most);
    for (size_t i = pools[p].first; i < end; i++)
      tags[i].x = shift + room_before(tags, i);
  }
  return true;
}
