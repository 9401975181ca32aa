"""Readers of an `Audit`: the report, the workbook, the table of nights. They print what the record holds.

Nothing here computes a result; units for print, rounding, currency and words are all that is added.
"""
