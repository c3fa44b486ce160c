"""The shop's app: jobs, their drawings and papers, round the calculations in calc."""

import os

# Read when numpy is first imported, so before all else here. The matrices are small, and several people are answered at once:
# a second thread for one product waits for the first, and for a core that another answer needs.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
