"""The calculation: from class limits and a pattern to a sail, its parts, its minutes and its price.

Pure functions on frozen dataclasses. No clock, no files, no network, no web framework: what a calculation
needs is an argument, and what it finds is its result. The folders are the chain in order:
rules, sail, cloth, takeoff, work, prices, quote; calibration and card read from what those produce.
"""
