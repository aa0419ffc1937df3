/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* Commands looked up in the table of actions, and their completion. */
#include <stdio.h>
#include <string.h>

#include <sidecomb/subcarriers.h>

#include "view/act.h"
#include "view/action.h"
#include "view/command.h"
#include "view/wish.h"

/* ---- words that an argument may be */

static const char *const letters[VIEW_MARKERS] = {"A", "B", "C", "D", "E", "F", "G", "H", "I", "J"};

/* The n-th word that an action's argument may be; NULL: there are no more. */
static const char *argument_word(const struct view_action *action, size_t n)
{
  size_t count;
  const struct sc_position *table = sc_subcarriers(&count);
  if (action->ask == VIEW_ASK_PLACE)
    return n < count ? table[n].key : NULL;
  if (action->range == VIEW_MARKERS)
    return n < VIEW_MARKERS ? letters[n] : NULL;
  if (action->run == view_act_view)
    return n < (size_t)action->range ? view_id_word((enum view_id)n) : NULL;
  return NULL;
}

static bool is_setting(const struct view_state *state, const struct view_action *action)
{
  return view_wish_word(state, action, 0) != NULL;
}

/* The same, the names that a file may have, and what a receiver has. */
static const char *offered_word(const struct view_state *state, const struct view_action *action,
                                size_t n)
{
  if (action->ask == VIEW_ASK_FILE)
    return n < VIEW_SUGGESTIONS ? state->prompt.files[n] : NULL;
  return is_setting(state, action) ? view_wish_word(state, action, n) : argument_word(action, n);
}

/* Of "LNA=20" the name is what words are about; a gain of all stages has none. */
static size_t typed_length(const struct view_action *action, const char *start)
{
  if (action->run_text != view_wish_gain)
    return strlen(start);
  const char *sign = strchr(start, '=');
  if (sign != NULL)
    return (size_t)(sign - start) + 1;
  return start[strspn(start, "+-.0123456789")] == 0 ? 0 : strlen(start);
}

static bool is_word(const char *word, const char *start, size_t length)
{
  return strlen(word) == length && strncmp(word, start, length) == 0;
}

/* Characters of what is typed that a word has to begin with. In place of a whole name that was
 * offered any other may stand. */
static size_t wanted_length(const struct view_state *state, const struct view_action *action,
                            const char *start)
{
  const size_t length = typed_length(action, start);
  const bool replaced = action->ask == VIEW_ASK_FILE || is_setting(state, action);
  const char *word;
  for (size_t n = 0; replaced && (word = offered_word(state, action, n)) != NULL; n++)
    if (is_word(word, start, length))
      return 0;
  return length;
}

static bool starts(const char *word, const char *start, size_t length)
{
  return strncmp(word, start, length) == 0;
}

/* ---- looking up */

/* The action of that name, or the only one whose name starts so; NULL: none or several. */
static const struct view_action *find(const char *name, size_t length)
{
  const struct view_action *actions, *found = NULL;
  size_t count = view_actions(&actions);
  for (size_t i = 0; i < count; i++) {
    if (!starts(actions[i].name, name, length))
      continue;
    if (strlen(actions[i].name) == length)
      return &actions[i];
    if (found != NULL)
      return NULL;
    found = &actions[i];
  }
  return found;
}

/* ---- completion */

static size_t match_names(const struct view_state *state, const struct view_model *model,
                          const char *start, const char **matches)
{
  const struct view_action *actions;
  size_t count = view_actions(&actions), used = 0;
  for (size_t i = 0; i < count && used < VIEW_MATCHES_MAX; i++)
    if (starts(actions[i].name, start, strlen(start)) &&
        view_action_applies(&actions[i], state, model))
      matches[used++] = actions[i].name;
  return used;
}

static size_t match_arguments(const struct view_state *state, const struct view_action *action,
                              const char *start, const char **matches)
{
  size_t used = 0;
  const char *word;
  for (size_t n = 0; (word = offered_word(state, action, n)) != NULL && used < VIEW_MATCHES_MAX;
       n++)
    if (starts(word, start, wanted_length(state, action, start)))
      matches[used++] = word;
  return used;
}

/* The action whose argument is typed; NULL: a name is, or it is none. */
static const struct view_action *asking(const struct view_prompt *prompt)
{
  const char *space = strchr(prompt->text, ' ');
  if (prompt->action != NULL || space == NULL)
    return prompt->action;
  return find(prompt->text, (size_t)(space - prompt->text));
}

size_t view_command_matches(const struct view_state *state, const struct view_model *model,
                            const char **matches, const char **typed)
{
  const struct view_prompt *prompt = &state->prompt;
  const char *space = strchr(prompt->text, ' ');
  *typed = prompt->text;
  if (prompt->action != NULL)
    return match_arguments(state, prompt->action, prompt->text, matches);
  if (space == NULL)
    return match_names(state, model, prompt->text, matches);
  *typed = space + strspn(space, " ");
  const struct view_action *action = asking(prompt);
  return action == NULL ? 0 : match_arguments(state, action, *typed, matches);
}

static size_t common_length(const char *const *matches, size_t count)
{
  size_t length = strlen(matches[0]);
  for (size_t i = 1; i < count; i++) {
    size_t same = 0;
    while (same < length && matches[i][same] == matches[0][same])
      same++;
    length = same;
  }
  return length;
}

/* What Tab takes of the names that a receiver has: what they have in common, then one after the
 * other. *length: characters of it. */
static const char *step(const struct view_action *action, const char *const *matches, size_t count,
                        const char *typed, size_t *length)
{
  const size_t stem = typed_length(action, typed);
  size_t next = count;
  for (size_t i = 0; i < count && next == count; i++)
    if (is_word(matches[i], typed, stem))
      next = i + 1;
  if (next == count && *length > stem)
    return matches[0];
  *length = strlen(matches[next % count]);
  return matches[next % count];
}

void view_command_complete(struct view_state *state, const struct view_model *model)
{
  const char *matches[VIEW_MATCHES_MAX], *typed;
  size_t count = view_command_matches(state, model, matches, &typed);
  if (count == 0)
    return;
  char *text = state->prompt.text;
  size_t at = (size_t)(typed - text), length = common_length(matches, count);
  bool is_name = state->prompt.command && strchr(text, ' ') == NULL;
  const struct view_action *action = asking(&state->prompt);
  const char *taken = matches[0];
  if (action != NULL && is_setting(state, action))
    taken = step(action, matches, count, typed, &length);
  if (at + length + 2 > VIEW_PROMPT_LENGTH)
    return;
  memcpy(text + at, taken, length);
  text[at + length] = 0;
  if (count == 1 && is_name)
    strcpy(text + at + length, " ");
}

/* ---- running */

static void run_ranged(struct view_state *state, const struct view_model *model,
                       const struct view_action *action, const char *argument)
{
  const char *word;
  for (int n = 0; (word = argument_word(action, (size_t)n)) != NULL; n++)
    if (strcmp(word, argument) == 0) {
      view_action_run(action, state, model, n);
      return;
    }
  view_state_say(state, "'%.40s' takes one of %s to %s.", action->name, argument_word(action, 0),
                 argument_word(action, (size_t)action->range - 1));
}

static void run_named(struct view_state *state, const struct view_model *model,
                      const struct view_action *action, const char *argument)
{
  if (!view_action_applies(action, state, model))
    view_action_refuse(action, state, action->name);
  else if (action->range > 1)
    run_ranged(state, model, action, argument);
  else if (action->ask == VIEW_ASK_NOTHING && argument[0] != 0)
    view_state_say(state, "'%s' takes nothing after it.", action->name);
  else if (action->ask == VIEW_ASK_NOTHING || argument[0] == 0)
    view_action_run(action, state, model, 0);
  else
    (void)view_action_answer(action, state, model, argument);
}

void view_command_run(struct view_state *state, const struct view_model *model, const char *text)
{
  char line[VIEW_PROMPT_LENGTH];
  text += strspn(text, " ");
  snprintf(line, sizeof line, "%s", text);
  size_t length = strcspn(line, " ");
  char *argument = line + length + strspn(line + length, " ");
  size_t end = strlen(argument);
  while (end > 0 && argument[end - 1] == ' ')
    argument[--end] = 0;
  const struct view_action *action = find(line, length);
  line[length] = 0;
  if (action != NULL)
    run_named(state, model, action, argument);
  else
    view_state_say(state, "'%.40s' is no command, or the start of several: Tab lists them.", line);
}
