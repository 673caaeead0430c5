(Knot: end of a print, and changing filament; mm and mm/min)
(end)
M83
G1 E-5.1 F2100
G91
G1 Z10 F600
G90
G1 X4 Y210 F6600
M104 S0
M140 S0
M84 X Y
(load, through 410 mm of tube)
M109 S235
G1 E24 F300
G1 E430 F2400
G1 E50 F200
(unload)
M109 S235
G1 E8 F200
G1 E-35 F2100
G1 E-470 F2400
M84 E
