%
(Knot, the second printer of the ringing hut, written down axis after axis when its board was last set up.)
(mm and s throughout, currents in mA; what stands behind a semicolon was noted later.)
G21 G90

(left to right: belt of 2 mm, pulley of 16 teeth)
M92 X100
M203 X190
M201 X2700
(front to back: the same, with the bed on it)
M92 Y100
M203 Y165
M201 Y1900
(up and down: one screw, lead 5 mm)
M92 Z640 ; 637 with the worn nut
M203 Z11
M201 Z85
(the drive on the wall: hobbed gear of 11.5 mm straight on the motor)
M92 E88.40 ; ring gauges came out heavy with M92 E90.10
M203 E40
M201 E1500

(motor currents in mA)
M906 E720 Z590 X660 Y760 ; with M906 E800 the bracket got soft
(retraction done by the machine, mm and mm/min; Z is the lift)
M207 Z0.20 S5.10 F2100
M933 S3 (tones at the end of a print)
%
