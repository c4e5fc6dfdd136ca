/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * page.cmake puts the files into the build folder. */
    .macro asset name, file
    .section .rodata
\name\()_from:
    .incbin "\file"
\name\()_end:
    .section .data.rel.ro, "aw"
    .balign 8
    .global plag_asset_\name
    .hidden plag_asset_\name
    .type plag_asset_\name, %object
    .size plag_asset_\name, 2 * __SIZEOF_POINTER__
plag_asset_\name:
#if __SIZEOF_POINTER__ == 8
    .quad \name\()_from, \name\()_end
#else
    .long \name\()_from, \name\()_end
#endif
    .endm

    asset style, "page.css"
    asset script, "page.js"
    asset policy, "page_policy.txt"
    asset fleet_style, "fleet.css"
    asset fleet_script, "fleet.js"
    asset fleet_policy, "fleet_policy.txt"
    asset class_style, "class.css"
    asset class_script, "class.js"
    asset class_policy, "class_policy.txt"
    asset student_style, "student.css"
    asset student_policy, "student_policy.txt"

    .section .note.GNU-stack, "", %progbits
