/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "cli.h"

/* What failed stays with the output; the caller's error is marked as output's own. */
static platelag_status fail(cli_output *output, platelag_error *error) {
  if (output->error.status == PLATELAG_OK) {
    output->error.status = PLATELAG_ERROR_IO;
    if (errno != EPIPE)
      (void)snprintf(output->error.message, sizeof output->error.message, "standard output: %s",
                     strerror(errno));
  }
  if (error != NULL && error->status == PLATELAG_OK)
    *error = output->error;
  return PLATELAG_ERROR_IO;
}

static platelag_status write_output(void *context, const char *bytes, size_t size,
                                    platelag_error *error) {
  cli_output *output = context;
  if (output->error.status == PLATELAG_OK && fwrite(bytes, 1, size, output->stream) == size)
    return PLATELAG_OK;
  return fail(output, error);
}

void cli_output_open(cli_output *output) {
  *output = (cli_output){.stream = stdout};
  output->sink = (platelag_sink){.context = output, .write = write_output};
}

void cli_output_print(cli_output *output, const char *text) {
  (void)write_output(output, text, strlen(text), NULL);
}

int cli_output_close(cli_output *output, int status) {
  if (output->error.status == PLATELAG_OK && fclose(output->stream) != 0)
    (void)fail(output, NULL);
  if (output->error.status == PLATELAG_OK)
    return status;
  if (output->error.message[0] != '\0')
    cli_tell(&output->error);
  return PLATELAG_ERROR_IO;
}

/* How many bytes at `at` could steer a terminal or turn the writing direction, so that a name shows
 * as another: control characters, those of U+0080 to U+009F (0xC2 and a byte below 0xA0 in UTF-8),
 * and U+061C, U+200E to U+200F, U+2028 to U+202E, U+2066 to U+2069. 0: none. */
static size_t harmful_bytes(const unsigned char *at) {
  if (at[0] < 0x20 || at[0] == 0x7f)
    return 1;
  if ((at[0] == 0xc2 && at[1] >= 0x80 && at[1] < 0xa0) || (at[0] == 0xd8 && at[1] == 0x9c))
    return 2;
  if (at[0] == 0xe2 && at[1] == 0x80 &&
      (at[2] == 0x8e || at[2] == 0x8f || (at[2] >= 0xa8 && at[2] <= 0xae)))
    return 3;
  return at[0] == 0xe2 && at[1] == 0x81 && at[2] >= 0xa6 && at[2] <= 0xa9 ? 3 : 0;
}

static void make_harmless(char *text) {
  unsigned char *at = (unsigned char *)text;
  while (*at != '\0') {
    const size_t bytes = harmful_bytes(at);
    for (size_t i = 0; i < bytes; i++)
      at[i] = '?';
    at += bytes > 0 ? bytes : 1;
  }
}

cli_message cli_message_make(const char *format, va_list arguments) {
  cli_message message;
  (void)vsnprintf(message.text, sizeof message.text, format, arguments);
  make_harmless(message.text);
  return message;
}

/* The options that give what an error's setting says. */
static const char *option_of(const char *setting) {
  static const struct {
    const char *setting, *option;
  } row[] = {{"command", " by --command NAME"},
             {"position", " by --position NAME"},
             {"rows_per_second", " by --rows-per-second N"}};
  for (size_t i = 0; setting != NULL && i < sizeof row / sizeof row[0]; i++)
    if (strcmp(row[i].setting, setting) == 0)
      return row[i].option;
  return "";
}

void cli_tell(const platelag_error *error) {
  char text[sizeof error->file + sizeof error->message + 64];
  (void)platelag_error_describe(error, text, sizeof text);
  make_harmless(text);
  (void)fprintf(stderr, "platelag: %s%s\n", text, option_of(error->setting));
}

int cli_usage(const char *command, const char *format, ...) {
  va_list arguments;
  va_start(arguments, format);
  const cli_message message = cli_message_make(format, arguments);
  va_end(arguments);
  (void)fprintf(stderr, "%s: %s\nTry `%s --help' or `%s --usage' for more information.\n", command,
                message.text, command, command); /* as argp words it */
  return PLATELAG_ERROR_USAGE;
}

/* NO_COLOR: https://no-color.org */
platelag_report_options cli_report_options(cli_color color) {
  enum { NARROWEST = 60, WIDEST = 120 };
  platelag_report_options options = {.color = color == CLI_COLOR_ALWAYS, .width = 0};
  if (isatty(STDOUT_FILENO) == 0)
    return options;
  const char *no_color = getenv("NO_COLOR");
  const char *terminal = getenv("TERM");
  if (color == CLI_COLOR_AUTO)
    options.color = (no_color == NULL || no_color[0] == '\0') && terminal != NULL &&
                    strcmp(terminal, "dumb") != 0;
  struct winsize size;
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
    options.width = size.ws_col < NARROWEST ? NARROWEST
                    : size.ws_col > WIDEST  ? WIDEST
                                            : size.ws_col;
  return options;
}
