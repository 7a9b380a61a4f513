"""Benchmarks, one file a subject: ratios within one run, and this machine's figures."""
