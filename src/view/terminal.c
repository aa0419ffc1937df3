/* sidecomb - SPDX-License-Identifier: GPL-3.0-or-later */
/* The grid on a terminal, through curses, which sends only what changed. */
#ifdef HAVE_CONFIG_H
#include <config.h>
#endif

#include <curses.h>
#include <errno.h>
#include <langinfo.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "view/rescue.h"
#include "view/terminal.h"

/* Last, because it defines names such as `columns` as macros. */
#include <term.h>

/* As many as curses keeps. */
enum { EVENTS_MAX = 8 };

struct view_terminal {
  SCREEN *screen;
  FILE *input, *output;
  bool own_files;
  bool ascii;
  attr_t looks[VIEW_STYLE_COUNT];
  short pairs[VIEW_STYLE_COUNT];
  bool mouse, pressed, drawn; /* taken; the button is down, and was moved since */
  MEVENT events[EVENTS_MAX];  /* that came together, the newest first */
  size_t event_count;
};

/* Besides what curses asks for: reports of moves while a button is down (xterm's "Cell Motion
 * Mouse Tracking", in its document of control sequences). */
static const char moves_on[] = "\033[?1002h", moves_off[] = "\033[?1002l";

/* ---- looks */

/* A colour from the 256 of the usual cube, and one of the eight; -1: the terminal's own. Of the
 * colours of the 256 that mean something, any two differ by 19 or more in CIELAB, as they are and
 * as protanopes, deuteranopes and tritanopes see them (by the matrices of Machado, Oliveira and
 * Fernandes, 2009, from memory). What they say is written beside them too, or has a shape of its
 * own. */
struct look {
  short of_256, of_8;
  attr_t with_colour, without;
};

static const struct look looks[VIEW_STYLE_COUNT] = {
    [VIEW_STYLE_PLAIN] = {-1, -1, A_NORMAL, A_NORMAL},
    [VIEW_STYLE_QUIET] = {245, -1, A_NORMAL, A_DIM},
    [VIEW_STYLE_HEAD] = {-1, -1, A_BOLD, A_BOLD},
    [VIEW_STYLE_TRACE] = {33, COLOR_CYAN, A_NORMAL, A_NORMAL},
    [VIEW_STYLE_HOLD] = {130, COLOR_YELLOW, A_NORMAL, A_DIM},
    [VIEW_STYLE_SECOND] = {71, COLOR_GREEN, A_NORMAL, A_NORMAL},
    [VIEW_STYLE_MARKER] = {208, COLOR_YELLOW, A_NORMAL, A_BOLD},
    [VIEW_STYLE_ACTIVE] = {208, COLOR_YELLOW, A_REVERSE | A_BOLD, A_REVERSE},
    [VIEW_STYLE_LABEL] = {-1, -1, A_BOLD, A_BOLD},
    [VIEW_STYLE_EXPLAINED] = {-1, -1, A_NORMAL, A_NORMAL},
    [VIEW_STYLE_RESIDUAL] = {208, COLOR_YELLOW, A_NORMAL, A_BOLD},
    [VIEW_STYLE_SPURIOUS] = {163, COLOR_MAGENTA, A_BOLD, A_BOLD | A_UNDERLINE},
    [VIEW_STYLE_ARTEFACT] = {245, -1, A_NORMAL, A_DIM},
    [VIEW_STYLE_UNKNOWN] = {163, COLOR_MAGENTA, A_NORMAL, A_UNDERLINE},
    [VIEW_STYLE_WARNING] = {208, COLOR_YELLOW, A_BOLD, A_BOLD},
    [VIEW_STYLE_SHADE] = {17, COLOR_BLUE, A_NORMAL, A_DIM},
    [VIEW_STYLE_SHADE + 1] = {19, COLOR_BLUE, A_NORMAL, A_NORMAL},
    [VIEW_STYLE_SHADE + 2] = {61, COLOR_BLUE, A_NORMAL, A_DIM},
    [VIEW_STYLE_SHADE + 3] = {103, COLOR_CYAN, A_NORMAL, A_NORMAL},
    [VIEW_STYLE_SHADE + 4] = {145, COLOR_CYAN, A_NORMAL, A_DIM},
    [VIEW_STYLE_SHADE + 5] = {187, COLOR_WHITE, A_NORMAL, A_NORMAL},
    [VIEW_STYLE_SHADE + 6] = {229, COLOR_YELLOW, A_NORMAL, A_NORMAL},
    [VIEW_STYLE_SHADE + 7] = {230, COLOR_YELLOW, A_BOLD, A_BOLD},
};

/* Shades bring theirs along, so that they grow lighter on a light terminal too. */
static short background(int style, bool own)
{
  bool shade = style >= VIEW_STYLE_SHADE && style < VIEW_STYLE_SHADE + VIEW_SHADES;
  if (shade)
    return COLORS >= 256 ? 16 : COLOR_BLACK; /* 16: the cube's black, which no theme changes */
  return own ? -1 : COLOR_BLACK;
}

static void set_looks(struct view_terminal *terminal, bool no_colour)
{
  bool colour = !no_colour && has_colors() && start_color() == OK;
  bool own_background = colour && use_default_colors() == OK;
  for (int style = 0; style < VIEW_STYLE_COUNT; style++) {
    const struct look *look = &looks[style];
    short wanted = COLORS >= 256 ? look->of_256 : look->of_8;
    terminal->looks[style] = colour ? look->with_colour : look->without;
    terminal->pairs[style] = 0;
    if (colour && COLORS >= 8 && wanted >= 0) {
      init_pair((short)(style + 1), wanted, background(style, own_background));
      terminal->pairs[style] = (short)(style + 1);
    }
  }
}

/* ---- opening and closing */

static enum sc_error find_files(struct view_terminal *terminal, struct sc_message *message)
{
  terminal->input = stdin;
  terminal->output = stdout;
  if (isatty(STDIN_FILENO) && isatty(STDOUT_FILENO))
    return SC_OK;
  if (!isatty(STDOUT_FILENO))
    return sc_fail(message, SC_CANNOT_OPEN,
                   "view: standard output is no terminal; 'sidecomb report' writes text");
  terminal->input = fopen("/dev/tty", "r");
  if (terminal->input == NULL)
    return sc_fail(message, SC_CANNOT_OPEN,
                   "view: keys need a terminal, and /dev/tty cannot be opened: %s",
                   strerror(errno));
  terminal->own_files = true;
  return SC_OK;
}

static void set_modes(void)
{
  cbreak();
  noecho();
  nonl();
  curs_set(0);
  keypad(stdscr, TRUE);
  nodelay(stdscr, TRUE);
  set_escdelay(25);
}

/* ---- what brings the terminal back, should the program die */

static struct {
  char text[256];
  size_t length;
} restore;

static int add_restore(int byte)
{
  if (restore.length < sizeof restore.text)
    restore.text[restore.length++] = (char)byte;
  return byte;
}

static void add_capability(const char *text)
{
  if (text != NULL && text != (const char *)-1)
    tputs(text, 1, add_restore);
}

static void arm_rescue(const struct view_terminal *terminal)
{
  restore.length = 0;
  if (key_mouse != NULL) /* whether it is taken then or not */
    add_capability("\033[?1006l\033[?1000l\033[?1002l");
  add_capability(exit_attribute_mode);
  add_capability(cursor_normal);
  add_capability(keypad_local);
  add_capability(exit_ca_mode);
  view_rescue_arm(fileno(terminal->output), restore.text, restore.length);
}

/* A terminal that cannot place its cursor would show a heap of characters. */
static enum sc_error check_type(const struct view_terminal *terminal, const char *type,
                                struct sc_message *message)
{
  int found;
  if (setupterm(type, fileno(terminal->output), &found) != OK)
    return sc_fail(message, SC_CANNOT_OPEN, "view: the terminal type '%s' is not known", type);
  bool places = cursor_address != NULL && cursor_address != (char *)-1;
  del_curterm(cur_term);
  if (places)
    return SC_OK;
  return sc_fail(message, SC_CANNOT_OPEN,
                 "view: a terminal of type '%s' cannot place its cursor; 'sidecomb report' writes "
                 "text",
                 type);
}

static enum sc_error start_curses(struct view_terminal *terminal, struct sc_message *message)
{
  const char *type = getenv("TERM");
  if (type == NULL || type[0] == 0)
    return sc_fail(message, SC_CANNOT_OPEN, "view: the variable TERM does not name a terminal");
  enum sc_error error = check_type(terminal, type, message);
  if (error != SC_OK)
    return error;
  terminal->screen = newterm(NULL, terminal->output, terminal->input);
  if (terminal->screen == NULL)
    return sc_fail(message, SC_CANNOT_OPEN, "view: the terminal type '%s' is not known", type);
  set_term(terminal->screen);
  reset_shell_mode();
  arm_rescue(terminal);
  reset_prog_mode();
  set_modes();
  view_rescue_hold_errors();
  return SC_OK;
}

enum sc_error view_terminal_open(bool no_colour, struct view_terminal **out,
                                 struct sc_message *message)
{
  struct view_terminal *terminal = calloc(1, sizeof *terminal);
  *out = NULL;
  if (terminal == NULL)
    return sc_fail(message, SC_NO_MEMORY, "view: not enough memory for the screen");
  enum sc_error error = find_files(terminal, message);
  if (error == SC_OK)
    error = start_curses(terminal, message);
  if (error != SC_OK) {
    view_terminal_close(terminal);
    return error;
  }
  terminal->ascii = strcmp(nl_langinfo(CODESET), "UTF-8") != 0;
  set_looks(terminal, no_colour);
  *out = terminal;
  return SC_OK;
}

void view_terminal_close(struct view_terminal *terminal)
{
  if (terminal == NULL)
    return;
  if (terminal->screen != NULL) {
    view_terminal_mouse(terminal, false);
    endwin();
    view_rescue_disarm();
    view_rescue_release_errors();
    delscreen(terminal->screen);
  }
  if (terminal->own_files && terminal->input != NULL)
    fclose(terminal->input);
  free(terminal);
}

/* ---- use */

bool view_terminal_is_ascii(const struct view_terminal *terminal)
{
  return terminal->ascii;
}

void view_terminal_size(const struct view_terminal *terminal, int *width, int *height)
{
  (void)terminal;
  getmaxyx(stdscr, *height, *width);
}

int view_terminal_descriptor(const struct view_terminal *terminal)
{
  return fileno(terminal->input);
}

static int translate(wint_t key)
{
  static const struct {
    wint_t from;
    int to;
  } keys[] = {
      {KEY_LEFT, VIEW_KEY_LEFT},
      {KEY_RIGHT, VIEW_KEY_RIGHT},
      {KEY_UP, VIEW_KEY_UP},
      {KEY_DOWN, VIEW_KEY_DOWN},
      {KEY_SLEFT, VIEW_KEY_SHIFT_LEFT},
      {KEY_SRIGHT, VIEW_KEY_SHIFT_RIGHT},
      {KEY_PPAGE, VIEW_KEY_PAGE_UP},
      {KEY_NPAGE, VIEW_KEY_PAGE_DOWN},
      {KEY_HOME, VIEW_KEY_HOME},
      {KEY_END, VIEW_KEY_END},
      {KEY_DC, VIEW_KEY_DELETE},
      {KEY_BTAB, VIEW_KEY_BACKTAB},
      {KEY_BACKSPACE, VIEW_KEY_BACKSPACE},
      {KEY_ENTER, VIEW_KEY_ENTER},
  };
  for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
    if (keys[i].from == key)
      return keys[i].to;
  return VIEW_KEY_NONE;
}

/* ---- the mouse */

static void report_moves(const struct view_terminal *terminal, bool on)
{
  fputs(on ? moves_on : moves_off, terminal->output);
  fflush(terminal->output);
}

void view_terminal_mouse(struct view_terminal *terminal, bool on)
{
  static const mmask_t wanted = BUTTON1_PRESSED | BUTTON1_RELEASED | BUTTON4_PRESSED |
                                BUTTON5_PRESSED | REPORT_MOUSE_POSITION;
  on = on && key_mouse != NULL;
  if (terminal->mouse == on)
    return;
  terminal->mouse = on;
  terminal->pressed = false;
  mouseinterval(0);
  mousemask(on ? wanted : 0, NULL);
  report_moves(terminal, on);
}

static int let_go(struct view_terminal *terminal, bool moved)
{
  bool click = terminal->pressed && !terminal->drawn && !moved;
  bool drag = terminal->pressed && moved;
  terminal->pressed = false;
  return click ? VIEW_KEY_CLICK : drag ? VIEW_KEY_DRAG : VIEW_KEY_NONE;
}

/* A press and a release that arrive at once are one key to curses, which gives the newest first. */
static void fetch_events(struct view_terminal *terminal)
{
  size_t count = 0;
  while (count < EVENTS_MAX && getmouse(&terminal->events[count]) == OK)
    count++;
  terminal->event_count = count;
}

static int take_event(struct view_terminal *terminal, const MEVENT *event,
                      struct view_pointer *pointer)
{
  pointer->moved = terminal->pressed ? event->x - pointer->x : 0;
  pointer->goes_on = terminal->drawn;
  pointer->x = event->x;
  pointer->y = event->y;
  bool moved = pointer->moved != 0;
  if (event->bstate & BUTTON4_PRESSED)
    return VIEW_KEY_WHEEL_UP;
  if (event->bstate & BUTTON5_PRESSED)
    return VIEW_KEY_WHEEL_DOWN;
  if (event->bstate & BUTTON1_RELEASED)
    return let_go(terminal, moved);
  if (event->bstate & BUTTON1_PRESSED) {
    terminal->pressed = true;
    terminal->drawn = false;
    return VIEW_KEY_NONE;
  }
  terminal->drawn = terminal->drawn || moved;
  return terminal->pressed && moved ? VIEW_KEY_DRAG : VIEW_KEY_NONE;
}

static int take_mouse(struct view_terminal *terminal, struct view_pointer *pointer)
{
  int key = VIEW_KEY_NONE;
  while (key == VIEW_KEY_NONE && terminal->event_count > 0)
    key = take_event(terminal, &terminal->events[--terminal->event_count], pointer);
  return key;
}

int view_terminal_key(struct view_terminal *terminal, struct view_pointer *pointer)
{
  for (;;) {
    wint_t key;
    int known = take_mouse(terminal, pointer);
    if (known != VIEW_KEY_NONE)
      return known;
    int kind = get_wch(&key);
    if (kind == ERR)
      return VIEW_KEY_NONE;
    if (kind == KEY_CODE_YES && key == KEY_MOUSE) {
      fetch_events(terminal);
      continue;
    }
    if (kind == KEY_CODE_YES) {
      known = translate(key);
      if (known != VIEW_KEY_NONE)
        return known;
      continue;
    }
    if (key == '\r')
      return VIEW_KEY_ENTER;
    if (key == '\b')
      return VIEW_KEY_BACKSPACE;
    if (key != 0)
      return (int)key;
  }
}

static void show_cell(const struct view_terminal *terminal, const struct view_cell *cell, int x,
                      int y)
{
  attr_set(terminal->looks[cell->style], terminal->pairs[cell->style], NULL);
  mvaddstr(y, x, cell->text);
}

void view_terminal_show(struct view_terminal *terminal, const struct view_grid *grid)
{
  for (int y = 0; y < grid->height; y++)
    for (int x = 0; x < grid->width; x++) {
      const struct view_cell *cell = view_grid_cell(grid, x, y);
      if (cell->width > 0)
        show_cell(terminal, cell, x, y);
    }
  refresh();
}

void view_terminal_resize(struct view_terminal *terminal)
{
  struct winsize size;
  if (ioctl(fileno(terminal->output), TIOCGWINSZ, &size) == 0 && size.ws_row > 0 && size.ws_col > 0)
    resizeterm(size.ws_row, size.ws_col);
  clearok(curscr, TRUE);
}

void view_terminal_redraw(struct view_terminal *terminal)
{
  (void)terminal;
  clearok(curscr, TRUE);
}

void view_terminal_leave(struct view_terminal *terminal)
{
  if (terminal->mouse)
    report_moves(terminal, false);
  endwin();
  view_rescue_release_errors();
}

void view_terminal_return(struct view_terminal *terminal)
{
  view_rescue_hold_errors();
  refresh();
  if (terminal->mouse)
    report_moves(terminal, true);
  view_terminal_resize(terminal);
}
