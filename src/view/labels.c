/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Placing labels: the most important first, each as low above its peak as there is room.
 * A label keeps one column of air to its neighbours. */
#include <stdlib.h>

#include "view/labels.h"

struct field {
  int width, height;
  const int *tops;
  bool *taken;
};

static bool is_free(const struct field *field, int x, int y)
{
  if (x < 0 || x >= field->width)
    return true;
  return y >= 0 && y < field->tops[x] && !field->taken[y * field->width + x];
}

static bool text_fits(const struct field *field, int x, int y, int width)
{
  if (x < 0 || x + width > field->width)
    return false;
  for (int i = -1; i <= width; i++)
    if (!is_free(field, x + i, y))
      return false;
  return true;
}

/* The leader needs the peak's own column from below the label down to the peak. */
static bool leader_fits(const struct field *field, const struct view_label *label, int y)
{
  for (int row = y + 1; row < label->row; row++)
    if (field->taken[row * field->width + label->column])
      return false;
  return true;
}

static void take(struct field *field, const struct view_label *label)
{
  for (int i = 0; i < label->width; i++)
    field->taken[label->y * field->width + label->x + i] = true;
  for (int row = label->y + 1; row < label->row; row++)
    field->taken[row * field->width + label->column] = true;
}

static bool try_row(struct field *field, struct view_label *label, int y)
{
  /* Centred first, then as far to either side as the peak still stands under the text. */
  for (int shift = 0; shift <= label->width; shift++) {
    int aside = shift % 2 == 0 ? shift / 2 : -(shift + 1) / 2;
    int x = label->column - (label->width - 1) / 2 + aside;
    if (x > label->column || x + label->width <= label->column)
      continue;
    if (!text_fits(field, x, y, label->width))
      continue;
    label->x = x;
    label->y = y;
    take(field, label);
    return true;
  }
  return false;
}

static bool place_above(struct field *field, struct view_label *label)
{
  for (int y = label->row - 1; y >= 0 && leader_fits(field, label, y); y--)
    if (try_row(field, label, y))
      return true;
  return false;
}

/* A peak at the top of the plot has no room above it: its label stands beside its tip. */
static bool place_beside(struct field *field, struct view_label *label)
{
  for (int y = label->row < 0 ? 0 : label->row; y <= label->row + 1 && y < field->height; y++)
    for (int side = 0; side < 4; side++) { /* a peak's dots may stand in two columns */
      int away = side / 2;
      int x = side % 2 == 0 ? label->column + 2 + away : label->column - 1 - away - label->width;
      if (!text_fits(field, x, y, label->width))
        continue;
      label->x = x;
      label->y = y;
      take(field, label);
      return true;
    }
  return false;
}

static void place(struct field *field, struct view_label *label)
{
  label->placed = false;
  if (label->column < 0 || label->column >= field->width)
    return;
  label->placed = place_above(field, label) || place_beside(field, label);
}

static int by_rank(const void *a, const void *b)
{
  const struct view_label *left = a, *right = b;
  return (left->rank > right->rank) - (left->rank < right->rank);
}

bool view_labels_place(struct view_label *labels, size_t count, int width, int height,
                       const int *tops)
{
  if (width <= 0 || height <= 0 || count == 0)
    return true;
  struct field field = {width, height, tops, calloc((size_t)(width * height), sizeof(bool))};
  if (field.taken == NULL)
    return false;
  qsort(labels, count, sizeof *labels, by_rank);
  for (size_t i = 0; i < count; i++)
    place(&field, &labels[i]);
  free(field.taken);
  return true;
}
