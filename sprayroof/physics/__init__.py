"""Published equations as functions of numbers: no memory, files, clocks, random state or plots."""
