/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the page hands to shells and browsers is one word, one relative address, and no password. */
#include "support/check.h"

#include "fleet/html_command.h"

typedef void add_text(plag_text *out, const char *text);

static const struct {
  const char *text, *word;
} words[] = {
    {"f.db", "f.db"},
    {"/srv/fleet-7/results.db", "/srv/fleet-7/results.db"},
    {"postgresql://reader@db.example:5432/fleet", "postgresql://reader@db.example:5432/fleet"},
    {"", "''"},
    {"two words.db", "'two words.db'"},
    {"it's.db", "'it'\\''s.db'"},
    {"$(touch bad).db", "'$(touch bad).db'"},
    {"`touch bad`;&|<>", "'`touch bad`;&|<>'"},
    {"~/fleet.db", "'~/fleet.db'"},
    {"a\nb", "'a\nb'"},
    {"#6", "'#6'"},
    {"f.db$x/y", "'f.db$x/y'"},
};

static const struct {
  const char *store, *name;
} stores[] = {
    {"f.db", "f.db"},
    {"odd@name:secret.db", "odd@name:secret.db"},
    {"postgresql://db/fleet", "postgresql://db/fleet"},
    {"postgresql://reader:s3cret@db:5433/fleet", "postgresql://reader@db:5433/fleet"},
    {"postgres://reader:a@b:c@db/fleet?sslmode=require",
     "postgres://reader@db/fleet?sslmode=require"},
    {"postgresql://db/fleet?user=x&password=s3cret&sslmode=require",
     "postgresql://db/fleet?user=x&sslmode=require"},
    {"postgresql://db/fleet?password=s3cret", "postgresql://db/fleet"},
    {"postgresql:///fleet", "postgresql:///fleet"},
    {"postgresql://", "postgresql://"},
};

static const struct {
  const char *path, *address;
} addresses[] = {
    {"fleet-captures/8a3c80b9.html", "./fleet-captures/8a3c80b9.html"},
    {"javascript:alert(1)", "./javascript%3Aalert%281%29"},
    {"a b?c#d%e", "./a%20b%3Fc%23d%25e"},
    {"\xc3\xb6\"'<>", "./%C3%B6%22%27%3C%3E"},
};

static void expect(add_text *add, const char *text, const char *wanted) {
  plag_text out = {0};
  plag_text_add(&out, "");
  add(&out, text);
  assert_string_equal(out.bytes, wanted);
  plag_text_clear(&out);
}

static void texts_become_what_machines_read(void **state) {
  (void)state;
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    expect(plag_shell_word_add, words[i].text, words[i].word);
  for (size_t i = 0; i < sizeof stores / sizeof stores[0]; i++)
    expect(plag_store_name_add, stores[i].store, stores[i].name);
  for (size_t i = 0; i < sizeof addresses / sizeof addresses[0]; i++)
    expect(plag_address_add, addresses[i].path, addresses[i].address);
}

static void a_command_has_its_parts(void **state) {
  (void)state;
  static const char *const more[] = {"--spec", "my spec.ini"};
  const platelag_fleet_page page = {.folder = "it's-captures",
                                    .place = "out/it's-captures",
                                    .store = "f.db",
                                    .word = more,
                                    .word_count = 2};
  plag_capture_command command;
  plag_capture_command_make(&page, &command);
  assert_string_equal(command.before.bytes,
                      "platelag fleet --store f.db --spec 'my spec.ini' --capture ");
  assert_string_equal(command.between.bytes, " --html 'out/it'\\''s-captures/");
  assert_string_equal(command.after.bytes, ".html'");
  plag_capture_command_clear(&command);
  plag_capture_command_make(&(platelag_fleet_page){.folder = "x"}, &command);
  assert_int_equal(command.before.length + command.between.length + command.after.length, 0);
  plag_capture_command_clear(&command);
  plag_capture_command_make(&(platelag_fleet_page){.store = "f.db"}, &command);
  assert_string_equal(command.before.bytes, "platelag fleet --store f.db --capture ");
  assert_int_equal(command.between.length + command.after.length, 0);
  plag_capture_command_clear(&command);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(texts_become_what_machines_read),
      cmocka_unit_test(a_command_has_its_parts),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
