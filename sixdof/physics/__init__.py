"""Compiled physics: kernels in scalars and the records they read.

Imports nothing of the rest of the package.  SI units and radians throughout;
world axes north-east-down over a flat earth, body axes x forward, y right, z
down with the origin at the CG (ISO 1151-1, AIAA R-004).
"""
