/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>

#include "platelag/platelag.h"

int main(void) {
  (void)printf("platelag %s\n", platelag_version());
  return 0;
}
