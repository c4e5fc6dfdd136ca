/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Each file that is known to break readers of CSV is read right, with what was guessed or repaired
 * told, or refused with a reason. The numbers are those of the list of import cases that the reader
 * is built against; every case has at least one fixture. Over 400 lines of plain fixtures. */
#include "support/check.h"

#include <string.h>

#include "core/text.h"
#include "support/chunk_source.h"
#include "support/decimal_comma.h"
#include "support/describe_capture.h"
#include "support/memory_source.h"

enum { IMPORT_CASES = 38 };

typedef struct import_case {
  int number;
  const char *what;
  const char *bytes;
  size_t size;            /* of `bytes` */
  const char *expected;   /* as plag_test_describe_capture says; "!": words of the refusal */
  const char *note;       /* words of a note that must be there; NULL: none asked */
  int64_t note_line;      /* and its line; 0: not checked */
  double rows_per_second; /* 0: not given */
} import_case;

#define CASE(its_number, its_name, its_bytes, ...)                                                 \
  {                                                                                                \
    .number = its_number, .what = its_name, .bytes = its_bytes, .size = sizeof(its_bytes) - 1,     \
    .expected = __VA_ARGS__                                                                        \
  }

#define HEAD "Time (s),Runner duty (%),Runner position (V)\n"
#define ROWS "0.0,12.5,1.25\n0.1,62.5,1.27\n0.2,62.5,2.385\n"
#define PLAIN                                                                                      \
  "comma point, one clock, seconds, 3 rows; command Runner duty [%] 0=12.5 0.1=62.5 0.2=62.5; "    \
  "position Runner position [V] 0=1.25 0.1=1.27 0.2=2.385"
#define PLAIN_AND_ONE                                                                              \
  "comma point, one clock, seconds, 3 rows, 1 left out; command Runner duty [%] 0=12.5 0.1=62.5 "  \
  "0.2=62.5; position Runner position [V] 0=1.25 0.1=1.27 0.2=2.385"
#define HEAD_SEMICOLON "Time (s);Runner duty (%);Runner position (V)\n"
#define SEMICOLON                                                                                  \
  "semicolon point, one clock, seconds, 3 rows; command Runner duty [%] 0=12.5 0.1=62.5 0.2=62.5;" \
  " position Runner position [V] 0=1.25 0.1=1.27 0.2=2.385"
#define ROWS_SEMICOLON "0.0;12.5;1.25\n0.1;62.5;1.27\n0.2;62.5;2.385\n"

static const import_case cases[] = {
    CASE(1, "a decimal comma more regular than the semicolon",
         "Zeit (s);Gruppe;Saugrohrklappe Stellung (mV);Saugrohrklappe Tastverh\xC3\xA4ltnis (%)\n"
         "0,1;A;1.219,06;12,5\n0,2;A;1.221,11;62,5\n0,3;A;2.385,07;62,5\n",
         "semicolon comma, one clock, seconds, 3 rows; position Saugrohrklappe Stellung [mV] "
         "0=1.21906 0.1=1.22111 0.2=2.38507; command Saugrohrklappe Tastverh\xC3\xA4ltnis [%] "
         "0=12.5 0.1=62.5 0.2=62.5"),
    CASE(2, "tab, a comma in every value",
         "Time (s)\tRunner duty (%)\tRunner position (V)\n0,0\t12,5\t1,25\n0,1\t62,5\t1,27\n",
         "tab comma, one clock, seconds, 2 rows; command Runner duty [%] 0=12.5 0.1=62.5; "
         "position Runner position [V] 0=1.25 0.1=1.27"),
    CASE(2, "semicolon, a comma in every value",
         HEAD_SEMICOLON "0,0;12,5;1,25\n0,1;62,5;1,27\n0,2;62,5;2,385\n",
         "semicolon comma, one clock, seconds, 3 rows; command Runner duty [%] 0=12.5 0.1=62.5 "
         "0.2=62.5; position Runner position [V] 0=1.25 0.1=1.27 0.2=2.385"),
    CASE(3, "text cells with commas and brackets between numbers",
         "Time (s),Note,Runner duty (%),Runner position (V)\n0.0,\"warm, idle [a]\",12.5,1.25\n"
         "0.1,\"warm, (b), driven\",62.5,1.27\n0.2,\"c\",62.5,2.385\n",
         PLAIN),
    CASE(4, "sep=;", "sep=;\n" HEAD_SEMICOLON ROWS_SEMICOLON, SEMICOLON),
    CASE(4, "sep=; quoted", "\"sep=;\"\r\n" HEAD_SEMICOLON ROWS_SEMICOLON, SEMICOLON),
    CASE(4, "sep= and a tab",
         "sep=\t\nTime (s)\tRunner duty (%)\tRunner position "
         "(V)\n0.0\t12.5\t1.25\n0.1\t62.5\t1.27\n",
         "tab point, one clock, seconds, 2 rows; command Runner duty [%] 0=12.5 0.1=62.5; "
         "position Runner position [V] 0=1.25 0.1=1.27"),
    CASE(4, "a line that names only an encoding", "UTF-8\n" HEAD ROWS, PLAIN),
    CASE(5, "a byte-order mark", "\xEF\xBB\xBF" HEAD ROWS, PLAIN),
    CASE(5, "two byte-order marks", "\xEF\xBB\xBF\xEF\xBB\xBF" HEAD ROWS, PLAIN),
    CASE(5, "a byte-order mark before a preamble", "\xEF\xBB\xBFShuttle 7\n\n" HEAD ROWS, PLAIN),
    CASE(7, "single bytes of degree and micro signs in a header",
         "Time (\xB5s),Runner duty (%),Runner position (V),Coolant temperature (\xB0"
         "C)\n0,12.5,1.25,88\n100000,62.5,1.27,88.5\n",
         "comma point, one clock, microseconds, 2 rows; command Runner duty [%] 0=12.5 0.1=62.5; "
         "position Runner position [V] 0=1.25 0.1=1.27; coolant temperature Coolant temperature "
         "[\xC2\xB0"
         "C] 0=88 0.1=88.5"),
    CASE(7, "plainly broken bytes in a header",
         "Time (s),Runner duty (%),Runner \xFF\xC3 position (V)\n" ROWS,
         "comma point, one clock, seconds, 3 rows; command Runner duty [%] 0=12.5 0.1=62.5 "
         "0.2=62.5; position Runner \xC3\xBF\xC3\x83 position [V] 0=1.25 0.1=1.27 0.2=2.385"),
    CASE(9, "two header rows: names and units", "Time,Runner duty,Runner position\ns,%,V\n" ROWS,
         PLAIN),
    CASE(9, "three: names, units, kind",
         "Time,Runner duty,Runner position\n[s],[%],[V]\nfloat,float,float\n" ROWS, PLAIN),
    CASE(9, "four: source, names, units, kind",
         "unit A,unit A,unit A\nTime,Runner duty,Runner position\ns,%,V\nfloat,float,float\n" ROWS,
         PLAIN),
    CASE(10, "units in the cells",
         "Time,Runner duty,Runner position\n0.0 s,12.5 %,1.25V\n0.1 s,62.5 %,1270 mV\n",
         "comma point, one clock, seconds, 2 rows; command Runner duty [%] 0=12.5 0.1=62.5; "
         "position Runner position [V] 0=1.25 0.1=1.27"),
    CASE(10, "units behind a decimal comma",
         "Time;Runner duty;Runner position\n0,0;12,5%;1,25V\n"
         "0,1;62,5%;1,27V\n",
         "semicolon comma, one clock, seconds, 2 rows; command Runner duty [%] 0=12.5 0.1=62.5; "
         "position Runner position [V] 0=1.25 0.1=1.27"),
    CASE(10, "units in the header in other styles",
         "Time [ms],Runner duty_pct,\"Runner position, V\"\n0,12.5,1.25\n100,62.5,1.27\n",
         "comma point, one clock, milliseconds, 2 rows; command Runner duty [pct] 0=12.5 0.1=62.5; "
         "position Runner position [V] 0=1.25 0.1=1.27"),
    CASE(11, "duplicate names, and one like a renamed duplicate",
         "Time (s),Runner position (V),Runner position (V),Runner position (V).1\n"
         "0.0,1.25,2.5,3.5\n0.1,1.27,2.6,3.6\n",
         "comma point, one clock, seconds, 2 rows; position Runner position [V] 0=1.25 0.1=1.27; "
         "position Runner position [V] 0=2.5 0.1=2.6; position Runner position .1 [V] 0=3.5 "
         "0.1=3.6"),
    CASE(12, "a trailing separator in the data only",
         HEAD "0.0,12.5,1.25,\n0.1,62.5,1.27,\n0.2,62.5,2.385,\n", PLAIN),
    CASE(12, "a trailing separator in the header only",
         "Time (s),Runner duty (%),Runner position (V),\n" ROWS, PLAIN),
    CASE(12, "fewer cells in all rows than names",
         "Time (s),Runner duty (%),Runner position (V),Engine speed (rpm)\n" ROWS,
         "!rows of 3 cells under a header of 4 columns"),
    CASE(12, "more cells in all rows than names", HEAD "0.0,7,12.5,1.25\n0.1,7,62.5,1.27\n",
         "!rows of 4 cells under a header of 3 columns"),
    CASE(13, "ragged rows", HEAD "0.0,12.5,1.25\n0.1,62.5\n0.2,62.5,2.385\n",
         "comma point, one clock, seconds, 3 rows; command Runner duty [%] 0=12.5 0.1=62.5 "
         "0.2=62.5; position Runner position [V] 0=1.25 0.1=- 0.2=2.385",
         "fewer cells than columns", 3),
    CASE(13, "cut off in mid-field", HEAD ROWS "0.3,62", PLAIN_AND_ONE, "the file ends inside", 5),
    CASE(14, "a line end inside a quoted header",
         "Time (s),\"Runner duty\n(%)\",\"Runner position\r\n(V)\"\n" ROWS, PLAIN),
    CASE(15, "an inch mark that opens a quote",
         "Time (s),Note,Runner duty (%),Runner position (V)\n0.0,x,12.5,1.25\n"
         "0.1,\"5 inch,62.5,1.27\n0.2,y,62.5,2.385\n",
         PLAIN, "quote", 3),
    CASE(16, "thousands by a comma in quotes",
         "Time (s),Engine speed (rpm),Runner position (mV)\n0.0,\"3,400\",\"1,250\"\n"
         "0.1,812,\"1,270.5\"\n0.2,950.5,\"2,385\"\n",
         "comma point, one clock, seconds, 3 rows; engine speed Engine speed [rpm] 0=3400 0.1=812 "
         "0.2=950.5; position Runner position [mV] 0=1.25 0.1=1.2705 0.2=2.385"),
    CASE(16, "thousands by a point, a blank that does not break, an apostrophe",
         "Time (s);Engine speed (rpm);Runner position (mV);Air flow (g/s)\n"
         "0,0;3.400,5;1\xC2\xA0"
         "250,0;1'234,5\n0,1;812,5;1\xC2\xA0"
         "270,5;1'235,5\n",
         "semicolon comma, one clock, seconds, 2 rows; engine speed Engine speed [rpm] 0=3400.5 "
         "0.1=812.5; position Runner position [mV] 0=1.25 0.1=1.2705; air flow Air flow [g/s] "
         "0=1234.5 0.1=1235.5"),
    CASE(16, "the minus of typesetters",
         "Time (s),Runner duty (%),Runner position (V)\n0.0,\xE2\x88\x92"
         "12.5,1.25\n"
         "0.1,62.5,1.27\n",
         "comma point, one clock, seconds, 2 rows; command Runner duty [%] 0=-12.5 0.1=62.5; "
         "position Runner position [V] 0=1.25 0.1=1.27"),
    CASE(16, "an ambiguous 1.234 is told",
         "Time (s);Runner position (V)\n0;1.250\n1;1.270\n2;2.385\n",
         "semicolon point, one clock, seconds, 3 rows; position Runner position [V] 0=1.25 1=1.27 "
         "2=2.385",
         "can be read in two ways", 2),
    CASE(17, "missing values in every spelling",
         HEAD "0.0,-1.#IND,1.25\n0.1,nan,--\n0.2,N/A,No Data\n0.3,,n.a.\n0.4,#N/A,***\n"
              "0.5,12.5,9999\n0.6,62.5,1.27\n",
         "comma point, one clock, seconds, 7 rows; command Runner duty [%] 0=- 0.1=- 0.2=- 0.3=- "
         "0.4=- 0.5=12.5 ..; position Runner position [V] 0=1.25 0.1=- 0.2=- 0.3=- 0.4=- 0.5=- ..",
         "9999 stands for \"no value\"", 7),
    CASE(18, "9a is no 9", HEAD ROWS "0.3,62.5,9a\n",
         "comma point, one clock, seconds, 4 rows; command Runner duty [%] 0=12.5 0.1=62.5 "
         "0.2=62.5 0.3=62.5; position Runner position [V] 0=1.25 0.1=1.27 0.2=2.385 0.3=-",
         "\"9a\" is no value", 5),
    CASE(18, "state words are data",
         "Time (s),Runner valve command,Runner position (V)\n0.0,OFF,1.25\n0.1,ON,1.27\n"
         "0.2,on,2.385\n",
         "comma point, one clock, seconds, 3 rows; command Runner valve command [] 0=0 0.1=1 "
         "0.2=1; position Runner position [V] 0=1.25 0.1=1.27 0.2=2.385"),
    CASE(19, "a day above 12 tells that the day stands first",
         "Date and time,Runner position (V)\n12/04/2021 23:59:59.9,1.25\n"
         "13/04/2021 00:00:00.0,1.27\n13/04/2021 00:00:00.1,2.385\n",
         "comma point, one clock, date and time, 3 rows; position Runner position [V] 0=1.25 "
         "0.1=1.27 0.2=2.385"),
    CASE(19, "a day above 12 tells that the month stands first",
         "Date and time,Runner position (V)\n04/12/2021 23:59:59.9,1.25\n"
         "04/13/2021 00:00:00.0,1.27\n04/13/2021 00:00:00.1,2.385\n",
         "comma point, one clock, date and time, 3 rows; position Runner position [V] 0=1.25 "
         "0.1=1.27 0.2=2.385"),
    CASE(19, "nothing tells: said so",
         "Date and time,Runner position (V)\n03/04/2021 10:00:00.0,1.25\n"
         "03/04/2021 10:00:00.1,1.27\n",
         "comma point, one clock, date and time, 2 rows; position Runner position [V] 0=1.25 "
         "0.1=1.27",
         "no date tells whether day or month stands first", 2),
    CASE(20, "clock only, across midnight",
         "Clock,Runner duty (%),Runner position (V)\n23:59:59.85,12.5,1.25\n23:59:59.95,62.5,1.27\n"
         "00:00:00.05,62.5,2.385\n",
         "comma point, one clock, h:mm:ss, 3 rows; command Runner duty [%] 0=12.5 0.1=62.5 "
         "0.2=62.5; position Runner position [V] 0=1.25 0.1=1.27 0.2=2.385",
         "past midnight", 4),
    CASE(21, "local time set back by an hour",
         "Time;Runner position (V)\n2021-10-31 02:59:59.8;1.25\n2021-10-31 02:59:59.9;1.26\n"
         "2021-10-31 02:00:00.0;1.27\n2021-10-31 02:00:00.1;2.385\n",
         "semicolon point, one clock, ISO 8601, 4 rows; position Runner position [V] 0=1.25 "
         "0.1=1.26 0.2=1.27 0.3=2.385",
         "set back by an hour", 4),
    CASE(22, "seconds since 1970, fractions kept",
         "Time,Runner position (V)\n1614852001.125,1.25\n1614852001.250,1.27\n",
         "comma point, one clock, epoch seconds, 2 rows; position Runner position [V] 0=1.25 "
         "0.125=1.27"),
    CASE(22, "milliseconds since 1970",
         "Time,Runner position (V)\n1614852001125,1.25\n1614852001250,1.27\n",
         "comma point, one clock, epoch milliseconds, 2 rows; position Runner position [V] 0=1.25 "
         "0.125=1.27"),
    CASE(22, "microseconds since 1970",
         "Time,Runner position (V)\n1614852001125000,1.25\n1614852001250385,1.27\n",
         "comma point, one clock, epoch microseconds, 2 rows; position Runner position [V] 0=1.25 "
         "0.125385=1.27"),
    CASE(23, "fractions by a comma, quoted, in a comma file",
         "Clock,Runner position (V)\n\"07:39:45,440\",1.25\n\"07:39:45,540\",1.27\n",
         "comma point, one clock, h:mm:ss, 2 rows; position Runner position [V] 0=1.25 0.1=1.27"),
    CASE(23, "fractions by a comma, not quoted, in a comma file",
         "Clock,Runner position (V)\n07:39:45,440,1.25\n07:39:45,540,1.27\n",
         "!rows of 3 cells under a header of 2 columns"),
    CASE(23, "a point between minutes and seconds",
         "Clock,Runner position (V)\n07:39.45.440,1.25\n07:39.45.540,1.27\n",
         "comma point, one clock, h:mm:ss, 2 rows; position Runner position [V] 0=1.25 0.1=1.27"),
    CASE(23, "no fraction on whole seconds",
         "Clock,Runner position (V)\n07:39:45.5,1.25\n07:39:46,1.27\n07:39:46.5,2.385\n",
         "comma point, one clock, h:mm:ss, 3 rows; position Runner position [V] 0=1.25 0.5=1.27 "
         "1=2.385"),
    CASE(23, "date and time in two columns",
         "Date,Clock,Runner position (V)\n2021-03-04,23:59:59.8,1.25\n"
         "2021-03-04,23:59:59.9,1.26\n2021-03-05,00:00:00.0,1.27\n2021-03-05,00:00:00.1,2.385\n",
         "comma point, one clock, date and time in two columns, 4 rows; position Runner position "
         "[V] 0=1.25 0.1=1.26 0.2=1.27 0.3=2.385"),
    CASE(24, "AM and PM",
         "Clock,Runner position (V)\n11:59:59 AM,1.25\n12:00:00 PM,1.27\n12:00:01 PM,2.385\n",
         "comma point, one clock, h:mm:ss AM/PM, 3 rows; position Runner position [V] 0=1.25 "
         "1=1.27 2=2.385"),
    CASE(24, "a fraction of a day",
         "Time,Runner position (V)\n44259.5,1.25\n44259.500005787,1.27\n44259.500011574,2.385\n",
         "comma point, one clock, fraction of a day, 3 rows; position Runner position [V] 0=1.25 "
         "0.4999968=1.27 0.9999936=2.385",
         "read as days", 2),
    CASE(24, "minutes and seconds without hours, past the hour",
         "Time,Runner position (V)\n59:59.8,1.25\n59:59.9,1.26\n00:00.0,1.27\n00:00.1,2.385\n",
         "comma point, one clock, mm:ss, 4 rows; position Runner position [V] 0=1.25 0.1=1.26 "
         "0.2=1.27 0.3=2.385"),
    CASE(25, "a stamp that is repeated",
         HEAD "0.0,12.5,1.25\n0.1,62.5,1.26\n0.1,62.5,1.27\n"
              "0.2,62.5,2.385\n0.3,62.5,2.5\n",
         "comma point, one clock, seconds, 5 rows; command Runner duty [%] 0=12.5 0.1=62.5 "
         "0.1=62.5 0.2=62.5 0.3=62.5; position Runner position [V] 0=1.25 0.1=1.26 0.1=1.27 "
         "0.2=2.385 0.3=2.5",
         "a stamp is that of the row before", 4),
    CASE(25, "a stamp that steps back by tens of milliseconds",
         HEAD "0.00,12.5,1.25\n0.10,62.5,1.26\n0.07,62.5,1.27\n0.20,62.5,2.385\n",
         "comma point, one clock, seconds, 4 rows; command Runner duty [%] 0=12.5 0.1=62.5 "
         "0.1=62.5 0.2=62.5; position Runner position [V] 0=1.25 0.1=1.26 0.1=1.27 0.2=2.385",
         "earlier than the one before it by little", 4),
    CASE(25, "several recordings, the header repeated",
         HEAD "5.0,12.5,1.25\n5.1,62.5,1.27\n" HEAD "0.0,12.5,1.5\n0.1,62.5,2.385\n",
         "comma point, one clock, seconds, 4 rows, 1 left out; command Runner duty [%] 0=12.5 "
         "0.1=62.5 2.1=12.5 2.2=62.5; position Runner position [V] 0=1.25 0.1=1.27 2.1=1.5 "
         "2.2=2.385; run at 2.1",
         "the header stands here again", 4),
    CASE(25, "the header repeated in mid-recording",
         HEAD "0.0,12.5,1.25\n" HEAD "0.1,62.5,1.27\n0.2,62.5,2.385\n", PLAIN_AND_ONE,
         "the header stands here again", 3),
    CASE(25, "a recording that begins anew",
         HEAD "5.0,12.5,1.25\n5.1,62.5,1.27\n0.0,12.5,1.5\n0.1,62.5,2.385\n",
         "comma point, one clock, seconds, 4 rows; command Runner duty [%] 0=12.5 0.1=62.5 "
         "2.1=12.5 2.2=62.5; position Runner position [V] 0=1.25 0.1=1.27 2.1=1.5 2.2=2.385; "
         "restart at 2.1",
         "the clock begins anew", 4),
    CASE(25, "a footer behind a blank line", HEAD ROWS "\nMean,45.8,1.635\nRecorded by shuttle 7\n",
         "comma point, one clock, seconds, 3 rows, 2 left out; command Runner duty [%] 0=12.5 "
         "0.1=62.5 0.2=62.5; position Runner position [V] 0=1.25 0.1=1.27 0.2=2.385",
         "a remark, footer or summary", 6),
    CASE(26, "NULs at the end after a power loss", HEAD ROWS "\0\0\0\0\0\0\0\0", PLAIN, "NUL", 5),
    CASE(27, "a last line without a line end", HEAD "0.0,12.5,1.25\n0.1,62.5,1.27\n0.2,62.5,2.385",
         PLAIN),
    CASE(28, "CR only",
         "Time (s),Runner duty (%),Runner position (V)\r0.0,12.5,1.25\r0.1,62.5,1.27\r"
         "0.2,62.5,2.385\r",
         PLAIN),
    CASE(30, "a clock for each channel",
         "Time (s),Runner duty (%),Time (s),Runner position (V)\n0.000,12.5,0.031,1.25\n"
         "0.105,62.5,0.128,1.27\n0.204,62.5,0.235,2.385\n",
         "comma point, clock per channel, seconds, 3 rows; command Runner duty [%] 0=12.5 "
         "0.105=62.5 0.204=62.5; position Runner position [V] 0.031=1.25 0.128=1.27 0.235=2.385"),
    CASE(30, "a clock for each channel, one ends early",
         "Time (s),Runner duty (%),Time (s),Runner position (V)\n0.105,12.5,0.031,1.25\n"
         "0.305,62.5,0.128,1.27\n,,0.235,2.385\n",
         "comma point, clock per channel, seconds, 3 rows; command Runner duty [%] 0.074=12.5 "
         "0.274=62.5; position Runner position [V] 0=1.25 0.097=1.27 0.204=2.385"),
    CASE(31, "no clock and no rate",
         "Runner duty (%),Runner position (V)\n12.5,1.25\n62.5,1.27\n10.5,2.385\n",
         "!give the rows per second"),
    CASE(31, "no clock, the rate stated",
         "Runner duty (%),Runner position (V)\n12.5,1.25\n62.5,1.27\n10.5,2.385\n",
         "comma point, one clock, row number, 3 rows; command Runner duty [%] 0=12.5 0.125=62.5 "
         "0.25=10.5; position Runner position [V] 0=1.25 0.125=1.27 0.25=2.385",
         "rows are counted", 0, 8),
    CASE(31, "a run time in whole seconds at two rows a second",
         "Run time (s),Runner position (V)\n7,1.25\n7,1.26\n8,1.27\n8,1.28\n9,1.29\n9,1.30\n"
         "10,2.385\n10,2.4\n",
         "comma point, one clock, seconds, 8 rows; position Runner position [V] 0=1.25 0.5=1.26 "
         "1=1.27 1.5=1.28 2=1.29 2.5=1.3 ..",
         "spread evenly", 2),
    CASE(32, "long form",
         "Time (s),Channel,Value,Unit\n0.00,Runner duty,12.5,%\n0.03,Runner position,1.25,V\n"
         "0.10,Runner duty,62.5,%\n0.13,Runner position,1270,mV\n0.20,Runner duty,62.5,%\n"
         "0.23,Runner position,2.385,V\n",
         "comma point, long, seconds, 6 rows; command Runner duty [%] 0=12.5 0.1=62.5 0.2=62.5; "
         "position Runner position [V] 0.03=1.25 0.13=1.27 0.23=2.385"),
    CASE(33, "identifiers that look like numbers",
         "Unit id,Time (s),Runner duty (%),Runner position (V),Key\n"
         "5001173100E7,0.0,12.5,1.25,0x1F\n5001173100E7,0.1,62.5,1.27,0x20\n"
         "5001173100A7,0.2,62.5,2.385,0x21\n",
         PLAIN),
    CASE(36, "empty unit brackets, blanks behind commas, a degree sign encoded twice",
         "TIME (), RUNNER DUTY (%), RUNNER POSITION (V), COOLANT TEMPERATURE (\xC3\x82\xC2\xB0"
         "C)\n0.0, 12.5, 1.25, 88\n0.1, 62.5, 1.27, 88.5\n",
         "comma point, one clock, seconds, 2 rows; command RUNNER DUTY [%] 0=12.5 0.1=62.5; "
         "position RUNNER POSITION [V] 0=1.25 0.1=1.27; coolant temperature COOLANT TEMPERATURE "
         "[\xC2\xB0"
         "C] 0=88 0.1=88.5"),
    CASE(37, "rows stamped at the start, cells polled one after another: one time a row", HEAD ROWS,
         PLAIN),
};

/* How a capture, or its refusal, reads; false where it is not what the case says. */
static bool read_case(const import_case *row, plag_text *text) {
  platelag_capture *capture = NULL;
  platelag_error error = {0};
  const platelag_read_options options = {.rows_per_second = row->rows_per_second};
  plag_text_reset(text);
  const platelag_status status =
      plag_test_read_bytes(row->bytes, row->size, &options, &capture, &error);
  if (status != PLATELAG_OK) {
    plag_text_add_format(text, "!%s", error.message);
    return row->expected[0] == '!' && strstr(error.message, row->expected + 1) != NULL;
  }
  plag_test_describe_capture(capture, text);
  bool same = strcmp(text->bytes, row->expected) == 0;
  if (row->note != NULL) {
    const platelag_note *note = plag_test_find_note(capture, row->note);
    const bool told = note != NULL && (row->note_line == 0 || note->line == row->note_line);
    same = same && told;
    if (!told)
      plag_text_add_format(text, "\n  and no note \"%s\" at line %lld", row->note,
                           (long long)row->note_line);
  }
  if (!same)
    for (size_t i = 0; i < platelag_capture_note_count(capture); i++)
      plag_text_add_format(text, "\n  note %lld: %s",
                           (long long)platelag_capture_note_at(capture, i)->line,
                           platelag_capture_note_at(capture, i)->text);
  platelag_capture_destroy(capture);
  return same;
}

static size_t read_all(plag_text *text) {
  size_t failed = 0;
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    if (read_case(&cases[i], text))
      continue;
    failed++;
    print_error("%d %s:\n  %s\n  expected\n  %s\n", cases[i].number, cases[i].what, text->bytes,
                cases[i].expected);
  }
  return failed;
}

static void each_file_is_read_right_or_refused(void **state) {
  (void)state;
  plag_text text = {0};
  const size_t failed = read_all(&text);
  plag_text_clear(&text);
  assert_int_equal(failed, 0);
}

/* Case 38. */
static void a_locale_with_a_decimal_comma_changes_nothing(void **state) {
  (void)state;
  plag_test_decimal_comma_begin();
  plag_text text = {0};
  const size_t failed = read_all(&text);
  plag_text_clear(&text);
  plag_test_decimal_comma_end();
  assert_int_equal(failed, 0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_file_is_read_right_or_refused),
      cmocka_unit_test(a_locale_with_a_decimal_comma_changes_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
