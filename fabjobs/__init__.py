"""The shop's app: jobs, their drawings and papers, round the calculations in calc."""
