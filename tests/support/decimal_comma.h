/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A locale of the process that writes numbers with a comma. */
#ifndef PLATELAG_TESTS_DECIMAL_COMMA_H
#define PLATELAG_TESTS_DECIMAL_COMMA_H

/* Sets one that the build has made (tests/CMakeLists.txt); fails the test where there is none. */
void plag_test_decimal_comma_begin(void);
void plag_test_decimal_comma_end(void);

#endif
