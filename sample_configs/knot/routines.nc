(Knot: changing filament, and what follows the last layer; mm and mm/min)
(unload)
M109 S235
G1 E9 F180
G1 E-35 F2100
G1 E-470 F2400
M84 E
(load, through 410 mm of tube)
M109 S235
G1 E24 F300
G1 E430 F2400
G1 E50 F200
(end)
M83
G1 E-5.1 F2100
G91
G1 Z12 F600
G90
G1 X6 Y205 F6000
M140 S0
M104 S0
M84 X Y
