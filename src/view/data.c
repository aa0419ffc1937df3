/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The data page. Characters appear as they are received: quiet while they were seen once, plain
 * once they were confirmed, an underscore where none came yet. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <sidecomb/rds.h>

#include "common/number.h"
#include "view/data.h"
#include "view/format.h"
#include "view/text.h"

enum {
  LABEL_WIDE = 18,
  LABEL_NARROW = 10,
  WIDE_FROM = 60,
  TEXT_LENGTH = 512,
  SURE_TIMES = 2,
  ROWS_MAX = 64
};

/* Where the next row goes. */
struct page {
  struct view_grid *grid; /* NULL: rows are only counted */
  bool ascii;
  int heights[ROWS_MAX]; /* of the rows, where they are counted */
  struct view_box box;   /* what is left */
  int label;
  int skip, rows, cut; /* rows to leave out; all so far; of them such that did not fit */
};

static int label_columns(struct view_box box)
{
  return box.width < WIDE_FROM ? LABEL_NARROW : LABEL_WIDE;
}

/* Without a grid a row is only counted, with the lines that it would take. */
static bool count_row(struct page *page, int lines)
{
  if (page->grid != NULL)
    return false;
  if (page->rows < ROWS_MAX)
    page->heights[page->rows] = lines > 0 ? lines : 1;
  page->rows++;
  return true;
}

static bool begin_row(struct page *page, const char *label)
{
  page->rows++;
  if (page->rows <= page->skip)
    return false;
  if (page->box.height <= 0 || page->box.width <= page->label) {
    page->cut++;
    return false;
  }
  view_put_cut(page->grid, page->box.x, page->box.y, page->label - 1, VIEW_STYLE_LABEL, label);
  return true;
}

static void end_row(struct page *page, int lines)
{
  lines = lines > 0 ? lines : 1;
  page->box.y += lines;
  page->box.height -= lines;
}

static void put_row(struct page *page, const char *label, enum view_style style, const char *text)
{
  if (count_row(page, view_text_lines(text, page->box.width - page->label, page->ascii)) ||
      !begin_row(page, label))
    return;
  struct view_box part = {page->box.x + page->label, page->box.y, page->box.width - page->label,
                          page->box.height};
  end_row(page, view_put_paragraph(page->grid, part, style, text));
}

/* Rows for what was not received are left out. */
static void put_known(struct page *page, const char *label, const char *text)
{
  if (text[0] != 0)
    put_row(page, label, VIEW_STYLE_PLAIN, text);
}

/* ---- texts, character by character */

static size_t last_of(const struct sc_rds_character *characters, size_t count)
{
  while (count > 0 && characters[count - 1].times == 0)
    count--;
  return count;
}

static void put_characters(struct page *page, const char *label,
                           const struct sc_rds_character *characters, size_t count)
{
  size_t sure = 0;
  char text[64];
  const int columns = page->box.width - page->label;
  if (last_of(characters, count) == 0 ||
      count_row(page, columns > 0 ? ((int)count + columns - 1) / columns : 1) ||
      !begin_row(page, label))
    return;
  int x = page->box.x + page->label, lines = 1;
  const int right = page->box.x + page->box.width;
  for (size_t i = 0; i < count; i++) {
    const bool seen = characters[i].times > 0;
    const bool is_sure = characters[i].times >= SURE_TIMES;
    if (x >= right && lines < page->box.height) {
      x = page->box.x + page->label;
      lines++;
    }
    if (x < right)
      x = view_put(page->grid, x, page->box.y + lines - 1,
                   is_sure ? VIEW_STYLE_PLAIN : VIEW_STYLE_QUIET, seen ? characters[i].utf8 : "_");
    sure += is_sure;
  }
  snprintf(text, sizeof text, "  %zu of %zu sure", sure, count);
  if (sure < count && x < right)
    view_put_cut(page->grid, x, page->box.y + lines - 1, right - x, VIEW_STYLE_QUIET, text);
  end_row(page, lines);
}

/* ---- rows */

static void put_quantity(struct page *page, const char *label, struct sc_quantity quantity,
                         int decimals, const char *unit)
{
  char text[TEXT_LENGTH] = "";
  if (quantity.why != NULL) {
    put_row(page, label, VIEW_STYLE_QUIET, quantity.why);
    return;
  }
  view_append(text, sizeof text, "%s %s", common_number(quantity.value, decimals, false).text,
              unit);
  if (isfinite(quantity.uncertainty))
    view_append(text, sizeof text, ", uncertain by %.2g", quantity.uncertainty);
  put_row(page, label, VIEW_STYLE_PLAIN, text);
}

static void put_station(struct page *page, const struct sc_rds_data *data)
{
  char text[TEXT_LENGTH] = "";
  if (data->pi[0] == 0) {
    put_row(page, "PI", VIEW_STYLE_QUIET,
            data->pi_times > 0 ? "received, but not confirmed yet" : "not received yet");
    return;
  }
  view_append(text, sizeof text, "%s  received %u%s times in a row", data->pi,
              (unsigned)data->pi_times, data->pi_times >= 127 ? " or more" : "");
  if (data->country[0] != 0)
    view_append(text, sizeof text, "  %s", data->country);
  if (data->call_letters[0] != 0)
    view_append(text, sizeof text, "  %s", data->call_letters);
  put_row(page, "PI", VIEW_STYLE_PLAIN, text);
}

static const char *word_of(enum sc_truth truth)
{
  return truth == SC_YES ? "yes" : truth == SC_NO ? "no" : "open";
}

static void put_switches(struct page *page, const struct sc_rds_data *data)
{
  char text[TEXT_LENGTH] = "";
  if (data->tp == SC_UNKNOWN)
    return;
  view_append(text, sizeof text, "traffic programme %s, announcement %s", word_of(data->tp),
              word_of(data->ta));
  if (data->music != SC_UNKNOWN)
    view_append(text, sizeof text, ", %s", data->music == SC_YES ? "music" : "speech");
  if (data->di[0] != 0)
    view_append(text, sizeof text, ", %s", data->di);
  put_row(page, "TP TA MS DI", VIEW_STYLE_PLAIN, text);
}

static void put_type(struct page *page, const struct sc_rds_data *data)
{
  char text[TEXT_LENGTH];
  if (isnan(data->pty))
    return;
  snprintf(text, sizeof text, "%.0f  %s", data->pty, data->pty_name);
  put_row(page, "PTY", VIEW_STYLE_PLAIN, text);
  snprintf(text, sizeof text, "%s, because %s", data->region_name != NULL ? data->region_name : "",
           data->region_evidence);
  if (data->region_name != NULL)
    put_row(page, "region", VIEW_STYLE_PLAIN, text);
}

static void put_clock(struct page *page, const struct sc_rds_data *data)
{
  char text[TEXT_LENGTH];
  snprintf(text, sizeof text, "%s%s", data->ct, data->ct_confirmed ? "" : "  not confirmed yet");
  if (data->ct[0] != 0)
    put_row(page, "CT", data->ct_confirmed ? VIEW_STYLE_PLAIN : VIEW_STYLE_QUIET, text);
}

static void put_lists(struct page *page, const struct sc_rds_data *data)
{
  char text[TEXT_LENGTH];
  for (size_t i = 0; i < data->tag_count; i++) {
    const struct sc_rds_tag *tag = &data->tags[i];
    snprintf(text, sizeof text, "%s: %s", tag->name != NULL ? tag->name : "other", tag->text);
    put_row(page, "RT+", VIEW_STYLE_PLAIN, text);
  }
  for (size_t i = 0; i < data->eon_count; i++) {
    const struct sc_rds_other *other = &data->eon[i];
    snprintf(text, sizeof text, "%04X  %s", (unsigned)other->pi, other->ps);
    for (size_t k = 0; k < other->af_count; k++)
      view_append(text, sizeof text, "%s%.1f", k > 0 ? ", " : "  on ", other->af_mhz[k]);
    put_row(page, "EON", VIEW_STYLE_PLAIN, text);
  }
  text[0] = 0;
  for (size_t i = 0; i < data->oda_count; i++)
    view_append(text, sizeof text, "%s%04X %s%sin %s", i > 0 ? ", " : "", (unsigned)data->oda[i].id,
                data->oda[i].name != NULL ? data->oda[i].name : "",
                data->oda[i].name != NULL ? " " : "",
                data->oda[i].type > 0 ? sc_rds_group_name(data->oda[i].type) : "3A only");
  put_known(page, "ODA", text);
}

static void put_reception(struct page *page, const struct sc_rds *rds)
{
  char text[TEXT_LENGTH] = "";
  if (rds->block_error_rate.why == NULL)
    view_append(text, sizeof text, "%llu, with errors %.1f %%, of those corrected %llu, lost %llu",
                (unsigned long long)rds->blocks, 100 * rds->block_error_rate.value,
                (unsigned long long)rds->corrected_blocks, (unsigned long long)rds->lost_blocks);
  put_known(page, "blocks", text);
  text[0] = 0;
  for (unsigned i = 0; i < SC_RDS_GROUP_TYPES; i++)
    if (rds->data.group_counts[i] > 0)
      view_append(text, sizeof text, "%s%s %llu", text[0] != 0 ? ", " : "", sc_rds_group_name(i),
                  (unsigned long long)rds->data.group_counts[i]);
  put_known(page, "groups", text);
}

static void put_signal(struct page *page, const struct sc_rds *rds)
{
  put_quantity(page, "injection", rds->injection_khz, 4, "kHz peak");
  put_quantity(page, "subcarrier", rds->subcarrier_hz, 4, "Hz");
  put_quantity(page, "against pilot", rds->phase_deg, 2, "degrees");
  put_reception(page, rds);
}

static void put_content(struct page *page, const struct sc_rds_data *data)
{
  put_station(page, data);
  put_characters(page, "PS", data->ps_characters, 8);
  put_characters(page, "RadioText", data->rt_characters,
                 data->rt[0] != 0 ? last_of(data->rt_characters, 64) : 64);
  put_type(page, data);
  put_characters(page, "PTYN", data->ptyn_characters, 8);
  put_switches(page, data);
  put_known(page, "AF in MHz", data->af_list);
  put_clock(page, data);
  put_known(page, "item", data->pin);
  put_known(page, "ECC", data->ecc);
  put_known(page, "language", data->language);
  put_lists(page, data);
}

static void put_all(struct page *page, const struct sc_rds *rds)
{
  put_row(page, "data", VIEW_STYLE_HEAD,
          rds->present == SC_YES  ? "present"
          : rds->present == SC_NO ? "absent"
                                  : "open");
  put_row(page, "because", VIEW_STYLE_PLAIN, rds->evidence);
  if (rds->present == SC_YES)
    put_content(page, &rds->data);
  if (rds->present == SC_YES)
    put_signal(page, rds);
  put_quantity(page, "seen here from", rds->detection_limit_khz, 3, "kHz in 99 %");
}

/* From that row on all fits. */
static int last_row(struct view_box box, bool ascii, const struct sc_rds *rds)
{
  struct page page = {.box = box, .ascii = ascii, .label = label_columns(box)};
  put_all(&page, rds);
  int first = page.rows < ROWS_MAX ? page.rows : ROWS_MAX, lines = 0;
  while (first > 0 && lines + page.heights[first - 1] <= box.height)
    lines += page.heights[--first];
  return first < page.rows ? first : page.rows - 1;
}

static void say_cut(const struct page *page, struct view_box box)
{
  char text[64];
  struct view_box last = {box.x, box.y + box.height - 1, box.width, 1};
  if (page->cut == 0)
    return;
  snprintf(text, sizeof text, "%d more below: Down shows them", page->cut + 1);
  view_grid_blank(page->grid, last);
  view_put_cut(page->grid, last.x, last.y, last.width, VIEW_STYLE_QUIET, text);
}

void view_data_sentence(const struct view_state *state, const struct view_model *model, char *out,
                        size_t size)
{
  (void)state;
  const struct sc_rds *rds = model->result != NULL ? &model->result->rds : NULL;
  if (rds == NULL || rds->present != SC_YES) {
    snprintf(out, size, "data: %s.",
             rds == NULL             ? "nothing is measured yet"
             : rds->present == SC_NO ? "there is no RDS here"
                                     : "whether there is RDS is open");
    return;
  }
  const char *ps = rds->data.ps, *pi = rds->data.pi;
  snprintf(out, size, "data: RDS%s%s, PI %s", ps[0] != 0 ? " of " : "", ps,
           pi[0] != 0 ? pi : "not confirmed");
  if (rds->injection_khz.why == NULL)
    view_append(out, size, ", %.2f kHz", rds->injection_khz.value);
  if (rds->block_error_rate.why == NULL)
    view_append(out, size, ", %.1f %% of %llu blocks with errors",
                100 * rds->block_error_rate.value, (unsigned long long)rds->blocks);
  view_append(out, size, ".");
}

int view_data_last(struct view_box box, bool ascii, const struct view_model *model)
{
  return last_row(box, ascii, &model->result->rds);
}

void view_data(struct view_grid *grid, struct view_box box, const struct view_state *state,
               const struct view_model *model)
{
  struct page page = {.grid = grid, .box = box, .label = label_columns(box)};
  view_grid_blank(grid, box);
  if (model->result == NULL || box.height <= 0 || box.width <= 0)
    return;
  const struct sc_rds *rds = &model->result->rds;
  const int last = last_row(box, grid->ascii, rds);
  page.skip = state->sheet_first < last ? state->sheet_first : last;
  put_all(&page, rds);
  say_cut(&page, box);
}
