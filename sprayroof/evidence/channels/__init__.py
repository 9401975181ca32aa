"""Columns of logs to channels in their units, on one grid."""
