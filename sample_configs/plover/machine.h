/*
 * Plover, the travelling printer of the ringing station. It goes out in its case to the
 * ringing weeks on the coast and prints ring gauges and spare net-pole feet on the spot.
 *
 * Lengths in mm, speeds in mm/s, accelerations in mm/s^2, currents in A (RMS).
 * Axis lists stand in the order X, Y, Z, feeder.
 */
#ifndef PLOVER_MACHINE_H
#define PLOVER_MACHINE_H

#include "limits.h"

#define MACHINE_NAME            "Plover"
#define MACHINE_BOARD_REVISION  3
#define MACHINE_CLOCK_HZ        72000000

/* options: what is fitted at the moment */
#define WITH_PROBE
#define WITH_MESH
//#define WITH_DOOR_SWITCH
//#define ON_BATTERY            // set for the ringing weeks
#define WITH_LAG_COMPENSATION

/* ---------------------------------------------------------------- motors */

#define BELT_PITCH              2
#define PULLEY_TEETH            20
#define FULL_STEPS_PER_TURN     200

/* 16 microsteps everywhere: 200 * 16 / (2 * 20) = 80; lead 4 mm on Z: 800;
   feeder: 25:6 on a gear of 8.4 mm, 6.333 mm a motor turn: 505.3 */
#define STEPS_PER_MM            { 80, 80, 800, 505.3 }
//#define STEPS_PER_MM          { 80, 80, 800, 498.7 }   // counted with the worn gear
#define MICROSTEPS              { 16, 16, 16, 16 }
#define DIRECTION_REVERSED      { 0, 1, 0, 1 }

#define MAX_SPEED               { 170, 150, 10, 45 }
#define MAX_ACCELERATION        { 2400, 2000, 90, 2600 }
#define CORNER_SPEED            5.5

#define RUN_CURRENT_X           0.58
#define RUN_CURRENT_Y           0.66
#define RUN_CURRENT_Z           0.52
#define FEEDER_RUN_CURRENT      0.38    // small flat motor on the carriage
#define FEEDER_HOLD_CURRENT     0.19
#define SENSE_RESISTOR_OHM      0.12
//#define FEEDER_RUN_CURRENT    0.45    // softened its mount in the sun

#define STEP_LINE_X             2
#define STEP_LINE_Y             4
#define STEP_LINE_Z             6
#define STEP_LINE_FEEDER        8
#define DIRECTION_LINE_X        3
#define DIRECTION_LINE_Y        5
#define DIRECTION_LINE_Z        7
#define DIRECTION_LINE_FEEDER   9
#define ENABLE_LINE_ALL         10

/* ---------------------------------------------------------------- homing */

#define HOMING_SPEED_X          35
#define HOMING_SPEED_Y          35
#define HOMING_SPEED_Z          6
#define HOMING_BACKS_OFF        4
#define HOMING_ORDER            "Z up, X, Y, Z"

/* ---------------------------------------------------------------- feed path */

#define FILAMENT_DIAMETER       1.75
#define NOZZLE_DIAMETER         0.4
#define FEEDER_LONGEST_FEED_MOVE 90
#define FEEDER_COLDEST_FEED_TEMPERATURE 170

#define RETRACTION_LENGTH       0.7
#define RETRACTION_SPEED        32
#define RETRACTION_PRIME_SPEED  24
#define RETRACTION_PRIME_EXTRA  0
#define RETRACTION_LIFT         0.15
//#define RETRACTION_LENGTH     0.9     // clogged twice on the coast

#ifdef WITH_LAG_COMPENSATION
  #define LAG_COEFFICIENT       0.055
  #define LAG_SMOOTHING         0.03
#else
  #define LAG_COEFFICIENT       0
#endif

/* ---------------------------------------------------------------- resonance */

#define RESONANCE_X_HZ          46.0
#define RESONANCE_Y_HZ          41.5
#define RESONANCE_DAMPING       0.09

/* ---------------------------------------------------------------- probe and mesh */

#ifdef WITH_PROBE
  #define PROBE_LINE            34
  #define PROBE_OFFSET_X        -21.5
  #define PROBE_OFFSET_Y        12.0
  #define PROBE_OFFSET_Z        -1.10
  #define PROBE_SPEED           4
  #define PROBE_SAMPLES         2
#endif

#ifdef WITH_MESH
  #if defined(WITH_PROBE)
    #define MESH_X_LOWEST       10
    #define MESH_Y_LOWEST       14
    #define MESH_X_HIGHEST      142
    #define MESH_Y_HIGHEST      160
    #define MESH_POINTS_X       5
    #define MESH_POINTS_Y       5
  #else
    /* by hand, with a ring of known thickness */
    #define MESH_X_LOWEST       20
    #define MESH_Y_LOWEST       20
    #define MESH_X_HIGHEST      148
    #define MESH_Y_HIGHEST      152
    #define MESH_POINTS_X       3
    #define MESH_POINTS_Y       3
  #endif
#endif

/* ---------------------------------------------------------------- heater tuning */

#define NOZZLE_HEATER_PROPORTIONAL 19.6
#define NOZZLE_HEATER_INTEGRAL     1.21
#define NOZZLE_HEATER_DERIVATIVE   79.0
#define BED_HEATER_PROPORTIONAL    58.0
#define BED_HEATER_INTEGRAL        1.15
#define BED_HEATER_DERIVATIVE      390.0

/* ---------------------------------------------------------------- texts sent as they stand */

#define ROUTINE_START \
    "G21\n" \
    "G90\n" \
    "M83\n" \
    "G28\n" \
    "G1 Z5 F600\n" \
    "M109 S210\n" \
    "G1 E6 F200\n"

#define ROUTINE_END \
    "M83\n" \
    "G1 E-0.7 F1900\n" \
    "G90\n" \
    "G1 Z140 F500\n" \
    "M104 S0\n" \
    "M140 S0\n" \
    "M84\n"

/* ---------------------------------------------------------------- fans, lights, screen */

#define PART_FAN_LINE           60
#define PART_FAN_SLOWEST       20
#define CARRIAGE_FAN_LINE       61
#define CARRIAGE_FAN_ABOVE      45
#define LIGHT_LINE              62
#define LIGHT_LEVEL             180     // of 255
#define SCREEN_CONTRAST         40
#define SCREEN_SLEEP_SECONDS    180
#ifdef ON_BATTERY
  #undef LIGHT_LEVEL
  #define LIGHT_LEVEL           60
#endif

#endif /* PLOVER_MACHINE_H */
