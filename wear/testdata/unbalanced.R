# Fits of the mixed model and of the model with drift by R, for wear's tests.
# Run in this directory: Rscript unbalanced.R > unbalanced.txt
# Needs Debian's r-cran-lme4 and r-cran-nlme. The data are simulated here, with
# our own invented parameters; no reading of any real part is in them.

suppressMessages({library(lme4); library(nlme)})
options(digits = 12, width = 120)

set.seed(20261125, kind = "Mersenne-Twister", normal.kind = "Inversion")
units <- 24
d <- do.call(rbind, lapply(1:units, function(i) {
  n <- c(1, 2, 3, 4, 5, 6, 8, 3)[(i - 1) %% 8 + 1]
  x <- round(cumsum(runif(n, 0.2, 1.1)), 3)      # 100 000 km
  a <- rnorm(1, 0.02, 0.06)
  b <- rnorm(1, 0.30, 0.08)
  step <- diff(c(0, x))
  w <- a + b * x + cumsum(rnorm(n, 0, sqrt(0.004 * step)))
  data.frame(part = sprintf("p%02d", i), x = x, y = round(w + rnorm(n, 0, 0.05), 3))
}))
write.csv(d, "unbalanced.csv", row.names = FALSE, quote = FALSE)

cat(R.version.string, "\n")
cat("lme4", as.character(packageVersion("lme4")), " nlme", as.character(packageVersion("nlme")), "\n\n")

control <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-13, maxfun = 1e5), calc.derivs = FALSE)
show <- function(name, m) {
  v <- as.data.frame(VarCorr(m))
  cat(name, "\n")
  cat("  beta   ", format(fixef(m), digits = 12), "\n")
  cat("  vcov   ", format(as.numeric(as.matrix(vcov(m))), digits = 12), "\n")
  cat("  G,s2   ", format(v$vcov, digits = 12), " (", paste(v$var1, v$var2, sep = "."), ")\n")
  cat("  -2logL ", format(-2 * as.numeric(logLik(m)), digits = 12), "\n")
}
show("lme4 REML, intercept and slope", lmer(y ~ x + (x | part), d, control = control))
show("lme4 ML, intercept and slope", lmer(y ~ x + (x | part), d, REML = FALSE, control = control))
show("lme4 REML, uncorrelated", lmer(y ~ x + (x || part), d, control = control))
show("lme4 ML, slope alone through the origin", lmer(y ~ 0 + x + (0 + x | part), d, REML = FALSE, control = control))
show("lme4 REML, slope alone through the origin", lmer(y ~ 0 + x + (0 + x | part), d, REML = TRUE, control = control))

m <- lme(y ~ x, d, ~ x | part, control = lmeControl(opt = "optim", reltol = 1e-14, msTol = 1e-14, tolerance = 1e-12, maxIter = 500, msMaxIter = 500))
cat("nlme REML, intercept and slope\n  beta   ", format(fixef(m), digits = 12), "\n  sigma2 ", format(m$sigma^2, digits = 12),
    "\n  G      ", format(as.numeric(getVarCov(m)), digits = 12), "\n  -2logL ", format(-2 * as.numeric(logLik(m)), digits = 12), "\n")

# The model with drift has no function in either package; its likelihood is
# written here with whole covariance matrices and minimised by optim.
dense <- function(theta, reml, start = 0.02, alpha = 0.06) {
  tau2 <- exp(theta[1]); q <- exp(theta[2]); s2 <- exp(theta[3])
  A <- 0; B <- 0; C <- 0; L <- 0
  for (p in split(d, d$part)) {
    V <- alpha^2 + tau2 * outer(p$x, p$x) + q * outer(p$x, p$x, pmin) + diag(s2, nrow(p))
    R <- chol(V)
    u <- backsolve(R, p$x, transpose = TRUE); v <- backsolve(R, p$y - start, transpose = TRUE)
    A <- A + sum(u * u); B <- B + sum(u * v); C <- C + sum(v * v)
    L <- L + 2 * sum(log(diag(R))) + nrow(p) * log(2 * pi)
  }
  r <- L + C - B^2 / A
  if (reml) r <- r + log(A) - log(2 * pi)
  attr(r, "beta") <- c(B / A, 1 / sqrt(A))
  r
}
for (reml in c(FALSE, TRUE)) {
  f <- function(t) as.numeric(dense(t, reml))
  o <- optim(log(c(0.01, 0.002, 0.002)), f, control = list(reltol = 1e-15, maxit = 5000))
  for (k in 1:5) o <- optim(o$par, f, control = list(reltol = 1e-15, maxit = 5000))
  o <- optim(o$par, f, method = "BFGS", control = list(reltol = 1e-16, ndeps = rep(1e-5, 3)))
  cat("drift,", if (reml) "REML" else "ML", "start 0.02, start-sd 0.06\n  tau2,q,s2", format(exp(o$par), digits = 10),
      "\n  beta,se  ", format(attr(dense(o$par, reml), "beta"), digits = 10), "\n  -2logL   ", format(o$value, digits = 12), "\n")
}
