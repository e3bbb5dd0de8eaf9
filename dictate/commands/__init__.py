"""The subcommands, one a file: each adds its options to the command line and runs. EDGE.

Exit codes: 0 done (also when nobody spoke), 1 some sources could not be used, 2 nothing could be
done, 130 stopped by Ctrl-C.
"""

DONE, SOME_FAILED, FAILED, STOPPED = 0, 1, 2, 130
