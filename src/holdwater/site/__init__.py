"""Beside the daily water stand the pipes: hydraulics in named one-liners, and the checks printed from them.

Inside this folder lengths and heads are mm, areas m2, volumes L, flows L/s (a storm is no day),
pressures kPa, powers kW, intensities mm/h, temperatures degC, times s and masses kg.
"""
