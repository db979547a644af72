"""What to keep in mind, each thing said in one place: general cautions, and those of single checks."""

from __future__ import annotations

DRINKING = (
    "Roof water is not drinking water until treated and tested; local health and plumbing codes decide."
)
AIR_GAP = (
    "A well or mains may meet rainwater only through an air gap or a listed assembly that the local authority"
    " accepts, never a plain valve."
)
MOSQUITOES = "Screen every inlet, vent and overflow against mosquitoes."
BASE = "Full tanks weigh 8.34 lb per gallon (1 kg per litre): level, compacted, drained base."
ENTRY = "Do not enter a tank."
LICENSED = "Wiring, gas and pressure work is licensed work."
ROOFS = "Keep roofs with lead, treated wood, asbestos or bitumen problems off drinking and garden use until tested."
FREEZING = "Bury or drain what freezes."
PAST = "Results come from past weather: a worse drought can come."

GENERAL = (DRINKING, AIR_GAP, MOSQUITOES, BASE, ENTRY, LICENSED, ROOFS, FREEZING, PAST)
"""What holds whatever the checks say."""

STORM = (
    "A daily rain record cannot give a design storm: take the 5-minute and 60-minute intensities from"
    " NOAA Atlas 14 or the local equivalent, and ask the plumbing office which return period it wants."
)
