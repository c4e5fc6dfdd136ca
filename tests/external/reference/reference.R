# SPDX-License-Identifier: GPL-3.0-or-later
# What R has for the series that test_reference wrote into the folder named: a line a figure, its name and
# its numbers. Packages: stats, metafor (shrinkage), strucchange (breaks).
folder <- commandArgs(trailingOnly = TRUE)[1]
tell <- function(name, value) cat(name, format(value, digits = 17, trim = TRUE), "\n")
read <- function(name) read.csv(file.path(folder, name))

for (name in sub("\\.csv$", "", list.files(folder, "^robust_.*\\.csv$"))) {
  x <- read(paste0(name, ".csv"))$value
  tell(paste0(name, "_median"), median(x))
  tell(paste0(name, "_deviation"), mad(x))
  tell(paste0(name, "_quantile"), quantile(x, c(0.05, 0.31, 0.95), names = FALSE))
}

# Kendall's test with the correction for continuity, each way and both.
for (name in sub("\\.csv$", "", list.files(folder, "^trend_.*\\.csv$"))) {
  s <- read(paste0(name, ".csv"))
  for (side in c("greater", "less", "two.sided")) {
    test <- suppressWarnings(cor.test(s$at, s$value, method = "kendall", alternative = side,
                                      exact = FALSE, continuity = TRUE))
    tell(paste0(name, "_", side), test$p.value)
  }
}

for (name in sub("\\.csv$", "", list.files(folder, "^adjust_.*\\.csv$")))
  tell(name, p.adjust(read(paste0(name, ".csv"))$value, "BH"))

for (name in sub("\\.csv$", "", list.files(folder, "^shrink_.*\\.csv$"))) {
  s <- read(paste0(name, ".csv"))
  fit <- metafor::rma(s$value, s$variance, method = "DL")
  tell(name, as.numeric(metafor::blup(fit)$pred))
}

# One break of the mean: how many values lie before it, 95 % (strucchange: Bai and Perron).
suppressMessages(library(strucchange))
for (name in sub("\\.csv$", "", list.files(folder, "^break_.*\\.csv$"))) {
  x <- read(paste0(name, ".csv"))$value
  found <- breakpoints(x ~ 1, h = 0.1)
  tell(paste0(name, "_count"), length(found$breakpoints[!is.na(found$breakpoints)]))
  tell(name, c(confint(found, breaks = 1)$confint))
}
