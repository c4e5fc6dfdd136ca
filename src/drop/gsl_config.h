/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the GNU Scientific Library's configure script would find out of WebAssembly with wasi-libc.
 */
#define HAVE_DECL_HYPOT        1
#define HAVE_DECL_EXPM1        1
#define HAVE_DECL_LOG1P        1
#define HAVE_DECL_ACOSH        1
#define HAVE_DECL_ASINH        1
#define HAVE_DECL_ATANH        1
#define HAVE_DECL_LDEXP        1
#define HAVE_DECL_FREXP        1
#define HAVE_DECL_ISINF        1
#define HAVE_DECL_ISFINITE     1
#define HAVE_DECL_ISNAN        1
#define HAVE_STRDUP            1
#define HAVE_STRTOL            1
#define HAVE_STRTOUL           1
#define HAVE_MEMCPY            1
#define HAVE_MEMMOVE           1
#define HAVE_DENORMALS         1
#define HAVE_IEEE_COMPARISONS  1
#define HAVE_INLINE            1
#define RELEASED               1
#define GSL_COERCE_DBL(x)      (x)
#define GSL_DISABLE_DEPRECATED 1
