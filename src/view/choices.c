/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* One table says what can be set; reading, writing and the messages walk it. */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <libconfig.h>

#include "view/choices.h"
#include "view/format.h"
#include "view/state.h"

/* ---- the table */

static const char *view_word(int n)
{
  return n < VIEW_COUNT ? view_id_word((enum view_id)n) : NULL;
}

static const char *window_word(int n)
{
  return n < SC_WINDOW_COUNT ? sc_window_name((enum sc_window)n) : NULL;
}

static const char *strokes_word(int n)
{
  static const char *const words[VIEW_GLYPHS_COUNT] = {"dots", "bars", "plain"};
  return n < VIEW_GLYPHS_COUNT ? words[n] : NULL;
}

static const char *hold_word(int n)
{
  static const char *const words[VIEW_HOLD_COUNT] = {"none", "highest", "both"};
  return n < VIEW_HOLD_COUNT ? words[n] : NULL;
}

static const char *rows_word(int n)
{
  static const char *const words[VIEW_ORDER_COUNT] = {"open", "frequency", "level"};
  return n < VIEW_ORDER_COUNT ? words[n] : NULL;
}

/* A word of a list, a number in a range, or true and false. */
static const struct choice {
  const char *name, *meaning;
  size_t offset;
  const char *(*word)(int n); /* NULL: no list */
  double least, most;         /* equal: no number */
} table[] = {
#define AT(member) offsetof(struct view_choices, member)
    {"view", "what is shown first, where the capture has it", AT(view), view_word, 0, 0},
    {"strokes", "how traces are drawn", AT(strokes), strokes_word, 0, 0},
    {"window", "window function", AT(window), window_word, 0, 0},
    {"window_parameter", "beta of the Kaiser window", AT(window_parameter), NULL, 0, 100},
    {"hold", "extremes beside the mean", AT(hold), hold_word, 0, 0},
    {"rows", "order of the account's rows", AT(rows), rows_word, 0, 0},
    {"average_s", "seconds that are averaged", AT(average_s), NULL, 1e-3, 1e5},
    {"tuned", "frequencies as tuned, not as offsets from the carrier", AT(tuned), NULL, 0, 0},
    {"expected", "on air also what the composite makes", AT(expected), NULL, 0, 0},
    {"mouse", "let the mouse act in the viewer", AT(mouse), NULL, 0, 0},
    {"colour", "use colours", AT(colour), NULL, 0, 0},
    {"plain", "only ASCII characters", AT(plain), NULL, 0, 0},
#undef AT
};
enum { CHOICES = sizeof table / sizeof table[0] };

static bool is_number(const struct choice *choice)
{
  return choice->least < choice->most;
}

static double *number_at(struct view_choices *choices, const struct choice *choice)
{
  return (double *)(void *)((char *)choices + choice->offset);
}

static int *whole_at(struct view_choices *choices, const struct choice *choice)
{
  return (int *)(void *)((char *)choices + choice->offset);
}

void view_choices_none(struct view_choices *choices)
{
  for (int i = 0; i < CHOICES; i++)
    if (is_number(&table[i]))
      *number_at(choices, &table[i]) = 0;
    else
      *whole_at(choices, &table[i]) = VIEW_NOT_CHOSEN;
}

/* ---- where the file is */

void view_choices_path(char *path, size_t size)
{
  static const char file[] = "sidecomb/viewer.cfg";
  const char *folder = getenv("XDG_CONFIG_HOME"), *home = getenv("HOME");
  int length = 0;
  path[0] = '\0';
  if (folder != NULL && folder[0] == '/') /* others are to be ignored */
    length = snprintf(path, size, "%s/%s", folder, file);
  else if (home != NULL && home[0] == '/')
    length = snprintf(path, size, "%s/.config/%s", home, file);
  if (length < 0 || (size_t)length >= size)
    path[0] = '\0';
}

/* ---- reading */

/* "none, highest or both" */
static void list_words(const struct choice *choice, char *list, size_t size)
{
  list[0] = '\0';
  for (int n = 0; choice->word(n) != NULL; n++) {
    const char *joint = n == 0 ? "" : choice->word(n + 1) == NULL ? " or " : ", ";
    view_append(list, size, "%s%s", joint, choice->word(n));
  }
}

static bool take_word(const struct choice *choice, const config_setting_t *setting, int *value)
{
  const char *text = config_setting_get_string(setting);
  for (int n = 0; text != NULL && choice->word(n) != NULL; n++)
    if (strcmp(choice->word(n), text) == 0) {
      *value = n;
      return true;
    }
  return false;
}

static bool take_number(const struct choice *choice, const config_setting_t *setting, double *value)
{
  int type = config_setting_type(setting);
  double number = type == CONFIG_TYPE_FLOAT ? config_setting_get_float(setting)
                  : type == CONFIG_TYPE_INT ? config_setting_get_int(setting)
                                            : (double)NAN;
  if (!(number >= choice->least && number <= choice->most))
    return false;
  *value = number;
  return true;
}

static bool take(const struct choice *choice, const config_setting_t *setting,
                 struct view_choices *choices)
{
  if (is_number(choice))
    return take_number(choice, setting, number_at(choices, choice));
  if (choice->word != NULL)
    return take_word(choice, setting, whole_at(choices, choice));
  if (config_setting_type(setting) != CONFIG_TYPE_BOOL)
    return false;
  *whole_at(choices, choice) = config_setting_get_bool(setting) != 0;
  return true;
}

static enum sc_error refuse(const struct choice *choice, const config_setting_t *setting,
                            const char *name, struct sc_message *message)
{
  unsigned line = config_setting_source_line(setting);
  char wanted[160];
  if (choice == NULL)
    return sc_fail(message, SC_BAD_FORMAT, "%.200s:%u: '%.40s' is no setting", name, line,
                   config_setting_name(setting));
  if (is_number(choice))
    snprintf(wanted, sizeof wanted, "%g to %g", choice->least, choice->most);
  else if (choice->word != NULL)
    list_words(choice, wanted, sizeof wanted);
  else
    snprintf(wanted, sizeof wanted, "true or false");
  return sc_fail(message, SC_BAD_FORMAT, "%.200s:%u: %s can be %s", name, line, choice->name,
                 wanted);
}

static const struct choice *find(const char *name)
{
  for (int i = 0; i < CHOICES; i++)
    if (name != NULL && strcmp(table[i].name, name) == 0)
      return &table[i];
  return NULL;
}

/* The first line that is wrong is named; what is right counts all the same. */
static enum sc_error take_all(const config_t *config, const char *name,
                              struct view_choices *choices, struct sc_message *message)
{
  enum sc_error error = SC_OK;
  const config_setting_t *root = config_root_setting(config);
  for (int i = 0; i < config_setting_length(root); i++) {
    const config_setting_t *setting = config_setting_get_elem(root, (unsigned)i);
    const struct choice *choice = find(config_setting_name(setting));
    bool good = choice != NULL && take(choice, setting, choices);
    if (!good && error == SC_OK)
      error = refuse(choice, setting, name, message);
  }
  return error;
}

static enum sc_error take_config(config_t *config, int parsed, const char *name,
                                 struct view_choices *choices, struct sc_message *message)
{
  enum sc_error error =
      parsed == CONFIG_TRUE
          ? take_all(config, name, choices, message)
          : sc_fail(message, SC_BAD_FORMAT, "%.200s:%d: %s; nothing of it is used", name,
                    config_error_line(config), config_error_text(config));
  config_destroy(config);
  return error;
}

enum sc_error view_choices_parse(const char *text, const char *name, struct view_choices *choices,
                                 struct sc_message *message)
{
  config_t config;
  config_init(&config);
  view_choices_none(choices);
  return take_config(&config, config_read_string(&config, text), name, choices, message);
}

enum sc_error view_choices_read(const char *path, struct view_choices *choices,
                                struct sc_message *message)
{
  config_t config;
  view_choices_none(choices);
  FILE *file = path[0] != '\0' ? fopen(path, "r") : NULL;
  if (file == NULL && (path[0] == '\0' || errno == ENOENT || errno == ENOTDIR))
    return SC_OK;
  if (file == NULL)
    return sc_fail(message, SC_CANNOT_OPEN, "%.200s: cannot be read: %s", path, strerror(errno));
  config_init(&config);
  int parsed = config_read(&config, file);
  fclose(file);
  return take_config(&config, parsed, path, choices, message);
}

/* ---- writing */

static void print(FILE *out, const struct choice *choice, struct view_choices *choices)
{
  char words[160] = "true or false";
  if (choice->word != NULL)
    list_words(choice, words, sizeof words);
  else if (is_number(choice))
    snprintf(words, sizeof words, "%g to %g", choice->least, choice->most);
  fprintf(out, "# %s: %s\n", choice->meaning, words);
  if (is_number(choice) && *number_at(choices, choice) > 0)
    fprintf(out, "%s = %.9f;\n", choice->name, *number_at(choices, choice));
  else if (is_number(choice) || *whole_at(choices, choice) == VIEW_NOT_CHOSEN)
    fprintf(out, "# %s\n", choice->name);
  else if (choice->word != NULL)
    fprintf(out, "%s = \"%s\";\n", choice->name, choice->word(*whole_at(choices, choice)));
  else
    fprintf(out, "%s = %s;\n", choice->name, *whole_at(choices, choice) ? "true" : "false");
}

char *view_choices_text(const struct view_choices *choices)
{
  struct view_choices copy = *choices;
  char *text = NULL;
  size_t size = 0;
  FILE *out = open_memstream(&text, &size);
  if (out == NULL)
    return NULL;
  fputs("# Settings of sidecomb's viewer, read when it starts. See sidecomb(1), FILES.\n", out);
  for (int i = 0; i < CHOICES; i++)
    print(out, &table[i], &copy);
  bool good = ferror(out) == 0;
  good = fclose(out) == 0 && good;
  if (good)
    return text;
  free(text);
  return NULL;
}

/* ---- state */

static bool chosen(int choice)
{
  return choice != VIEW_NOT_CHOSEN;
}

void view_choices_apply(const struct view_choices *choices, struct view_state *state,
                        const struct view_model *model)
{
  state->choices = *choices;
  if (chosen(choices->view) && view_model_offers(model, (enum view_id)choices->view))
    state->view = (enum view_id)choices->view;
  if (chosen(choices->strokes) && state->glyphs != VIEW_GLYPHS_PLAIN) /* else: no characters */
    state->glyphs = (enum view_glyphs)choices->strokes;
  if (chosen(choices->window))
    state->window = (enum sc_window)choices->window;
  state->window_parameter =
      choices->window_parameter > 0 ? choices->window_parameter : VIEW_KAISER_BETA;
  if (chosen(choices->hold))
    state->hold = (enum view_hold)choices->hold;
  for (int view = 0; view < VIEW_COUNT && chosen(choices->rows); view++)
    state->panes[view].order = (enum view_order)choices->rows;
  if (choices->average_s > 0)
    state->length_s = fmin(choices->average_s, view_state_longest(model));
  if (chosen(choices->tuned) && model->info->centre_hz > 0)
    state->absolute = choices->tuned != 0;
  if (chosen(choices->expected))
    state->expected = choices->expected != 0;
  if (chosen(choices->mouse))
    state->mouse = choices->mouse != 0;
}

struct view_choices view_choices_of(const struct view_state *state)
{
  struct view_choices choices = state->choices;
  choices.view = (int)state->view;
  choices.strokes = (int)state->glyphs;
  choices.window = (int)state->window;
  choices.window_parameter = state->window_parameter;
  choices.hold = (int)state->hold;
  choices.rows = (int)view_state_shown(state)->order;
  choices.average_s = state->length_s;
  choices.tuned = state->absolute;
  choices.expected = state->expected;
  choices.mouse = state->mouse;
  return choices;
}
