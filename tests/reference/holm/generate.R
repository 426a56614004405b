# Holm's adjustment, with ties, a zero and a one.
p <- c(0.04, 0.01, 0.03, 0.02, 0.02, 0.5, 1, 0, 0.0004, 0.2)
write.csv(data.frame(p = p), "input.csv", row.names = FALSE)
writeLines(c(paste0("# tool: R ", getRversion()), "# call: p.adjust(p, method = 'holm')", "# tolerance: 1e-15",
             "adjusted", format(p.adjust(p, "holm"), digits = 15, trim = TRUE)), "expected.csv")
