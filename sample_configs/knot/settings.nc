; Knot, the second printer of the ringing hut: its settings as they came over the serial console,
; with notes of the station added afterwards behind the semicolons.
; G21 G90: mm. Steps a mm, speeds in mm/s, accelerations in mm/s^2.
N10 G21
N20 G90
(steps per mm: belts 20 teeth of 2 mm, screw lead 8 mm, hobbed gear 11 mm straight on the motor)
N30 M92 X80.00 Y80.00 Z400.00 E92.60
; M92 E94.10 counted before the idler spring was changed
(fastest speeds)
N40 M203 X200.00 Y180.00 Z12.00 E40.00
(accelerations: each axis)
N50 M201 X2600 Y2200 Z100 E1500
(motor currents in mA)
N60 M906 X680 Y740 Z600 E720
; M906 E800 too hot for the bracket
(retraction done by the machine, mm and mm/min; Z is the lift)
N70 M207 S5.10 F2100 Z0.20
N80 M208 S0.00 F1500
