"""Assess: a set file goes in, one assessment comes out. Facts with intervals and reasons, curves, findings.

This room alone decides which formula answers which key, what each input's spread is, and what is worth a finding.
It imports design, layout, physics and the catalogue, and nothing above.
"""
