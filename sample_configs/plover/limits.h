#pragma once
// Plover, the travelling printer of the ringing station.
// How far it may go and how hot it may get. Two people sign for a change here (card in the lid).

/* The way of the nozzle, mm, counted from the corner with the handle. */
#define X_LOWEST          0
#define X_HIGHEST         168
#define Y_LOWEST          0
#define Y_HIGHEST         172
#define Z_LOWEST          0
#define Z_HIGHEST         146           /* 151 with the lid off; the case closes above it */
// #define Z_HIGHEST        151

/* Degrees C: what no heater may pass, and what a broken wire reads as. */
#define HOTTEST_NOZZLE    265
#define COLDEST_NOZZLE    5
#define HOTTEST_BED       95
#define COLDEST_BED       5

/* A heater that does not warm up by so much in so long is taken for broken. */
#define NOZZLE_FAULT_TRIP 1
#define NOZZLE_WATCH      "4 degrees in 31 s"
#define BED_FAULT_TRIP    1
#define BED_WATCH         "3 degrees in 140 s"

/* Switches at the ends: the board's line, and 1 where it is closed while nothing touches it. */
#define END_SWITCH_X_LINE 31
#define END_SWITCH_Y_LINE 32
#define END_SWITCH_Z_LINE 33
#define END_SWITCH_X_REST 1
#define END_SWITCH_Y_REST 1
#define END_SWITCH_Z_REST 0
#define END_SWITCH_PULLED 1

#ifdef FITTED_BATTERY                     /* in the field */
#define SUPPLY_MIN_VOLTS  22.0
#define SUPPLY_MAX_VOLTS  29.4
#else
#define SUPPLY_MIN_VOLTS  21.0
#define SUPPLY_MAX_VOLTS  26.0
#endif
