// Plover goes out in its case to the ringing weeks on the coast, and prints ring gauges and spare
// net-pole feet on the spot. This file is in three parts: the filament's way, the axes, the rest.
// mm, s, degrees C; currents are A RMS.

#ifndef THE_CASE_IS_OPEN
#define THE_CASE_IS_OPEN

/* What is fitted at the moment. */
#define FITTED_FEELER
#define FITTED_LAG
//#define FITTED_BATTERY      // for the ringing weeks
//#define FITTED_DOOR_SWITCH

#include "limits.h"

/* ==== 1. The filament's way, from the gear to the tip ==== */

#define WIRE_DIAMETER             1.75
#define TIP_BORE                  0.4

/* The gear has 8.4 mm and turns once in 25/6 turns of the motor: 6.333 mm a motor turn. */
#define FEED_PULSES_PER_MM        505.3
//#define FEED_PULSES_PER_MM      498.7      // counted with the worn gear
#define FEED_REVERSED             1
#define FEED_FASTEST              45
#define FEED_HARDEST              2600
#define FEED_LONGEST_MM           90
#define FEED_COLDEST              172

#define FEED_RUNNING_CURRENT_A    0.38       // a small flat motor on the carriage
#define FEED_RESTING_CURRENT_A    0.19
//#define FEED_RUNNING_CURRENT_A  0.45       // softened its mount in the sun
#define FEED_SHUNT_OHM            0.12

#define PULLBACK_MM               0.7
//#define PULLBACK_MM             0.9        // clogged twice on the coast
#define PULLBACK_MM_PER_S         32
#define RETURN_MM_PER_S           24
#define RETURN_EXTRA_MM           0
#define PULLBACK_LIFT_MM          0.15

#ifdef FITTED_LAG
#define LAG_S                     0.055
#define LAG_AVERAGED_OVER_S       0.03
#else
#define LAG_S                     0
#endif

/* ==== 2. The axes ==== */

/* left-right, front-back, up-down: belts of 2 mm on pulleys of 18, a screw of 5 mm lead; 3200 microsteps a turn */
#define STEPS_A_MM                88.89, 88.89, 640
#define MICROSTEPS                16, 16, 16, 16
#define WHOLE_STEPS_A_TURN        200
#define X_REVERSED                0
#define Y_REVERSED                1
#define Z_REVERSED                0
#define TOP_SPEED                 165, 140, 9
#define X_HARDEST                 2400
#define Y_HARDEST                 2000
#define Z_HARDEST                 85
#define CORNER_PACE_MM_PER_S      5.5

#define X_RUNNING_CURRENT_A       0.60
#define Y_RUNNING_CURRENT_A       0.64
#define Z_RUNNING_CURRENT_A       0.50

#define RINGING_X_HZ              46.0
#define RINGING_Y_HZ              41.5
#define RINGING_DIES_BY           0.09

/* To the switches: how fast, and how far back again. Z goes up first. */
#define HOMES_X_MM_PER_S          32
#define HOMES_Y_MM_PER_S          32
#define HOMES_Z_MM_PER_S          5
#define HOMES_IN_ORDER            "Z up, X, Y, Z"

#ifdef FITTED_FEELER
#define FEELER_LINE               34
#define FEELER_X_AWAY             -21.5      /* seen from the tip */
#define FEELER_Y_AWAY             12.0
#define FEELER_Z_AWAY             -1.10
#define FEELER_TOUCHES            2
#endif

#if defined(FITTED_FEELER) && defined(FEELER_LINE)
#define GRID_X_FROM               10
#define GRID_X_TO                 142
#define GRID_Y_FROM               14
#define GRID_Y_TO                 160
#define GRID_ROWS                 5
#else
/* by hand, with a ring of known thickness */
#define GRID_X_FROM               20
#define GRID_X_TO                 148
#define GRID_Y_FROM               20
#define GRID_Y_TO                 152
#define GRID_ROWS                 3
#endif

/* ==== 3. The rest ==== */

#define NOZZLE_HEATER_P           19.6
#define NOZZLE_HEATER_I           1.21
#define NOZZLE_HEATER_D           79.0
#define BED_HEATER_P              58.0
#define BED_HEATER_I              1.15
#define BED_HEATER_D              390.0

#define LINES_AT_START "G21\nG90\nM83\n" \
                       "G28\nG1 Z5 F600\n" \
                       "M109 S210\nG1 E6 F200\n"

#define LINES_AT_END   "M83\nG1 E-0.7 F1900\n" \
                       "G90\nG1 Z140 F500\n" \
                       "M104 S0\nM140 S0\nM84\n"

#define LAMP_LEVEL                180        /* of 255 */
#ifdef FITTED_BATTERY
#undef LAMP_LEVEL
#define LAMP_LEVEL                60
#endif
#define PART_FAN_LINE             60
#define PART_FAN_SLOWEST          20
#define CARRIAGE_FAN_LINE         61
#define CARRIAGE_FAN_ABOVE        45
#define SCREEN_CONTRAST           40
#define SCREEN_SLEEPS_AFTER_S     180
#define CALLED                    "Plover"

#endif
