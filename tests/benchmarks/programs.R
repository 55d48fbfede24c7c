# One estimate by R's survival package of lives in files of bare numbers.
# Rscript programs.R RACE FOLDER RUNS LEAST_SECONDS
# -> seconds of each run, the figure, megabytes at the peak
suppressPackageStartupMessages(library(survival))
options(digits = 17)
arguments <- commandArgs(TRUE)
race <- arguments[1]; folder <- arguments[2]; runs <- as.integer(arguments[3])
least_s <- as.numeric(arguments[4])
column <- function(name) {
  file <- file.path(folder, name)
  readBin(file, "integer", file.size(file) / 4)
}
entry <- as.numeric(column("entry")); exit <- as.numeric(column("exit"))
failed <- column("failed"); group <- column("group")
one <- as.numeric(group == 1); two <- as.numeric(group == 2)
estimate <- list(
  product_limit = function() {
    s <- survfit(Surv(entry, exit, failed) ~ 1, conf.type = "log-log")
    s$surv[findInterval(200000, s$time)]
  },
  nelson_aalen = function() {
    s <- survfit(Surv(entry, exit, failed) ~ 1)
    s$cumhaz[findInterval(200000, s$time)]
  },
  weibull_all_new = function() 1 / survreg(Surv(exit, failed) ~ 1)$scale,
  log_rank_all_new = function() survdiff(Surv(exit, failed) ~ group)$chisq,
  proportional_hazards = function() coef(coxph(Surv(entry, exit, failed) ~ one + two))[2]
)[[race]]
invisible(gc(reset = TRUE)); before <- sum(gc()[, 2])
seconds <- numeric(0)
while (length(seconds) < runs || sum(seconds) < least_s) {
  seconds <- c(seconds, system.time(figure <- estimate())[["elapsed"]])
}
cat(sprintf('{"seconds": [%s], "figure": %.17g, "megabytes": %.1f}\n',
            paste(seconds, collapse = ", "), figure, sum(gc()[, 6]) - before))
