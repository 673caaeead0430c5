/*
 * Plover, the travelling printer of the ringing station: limits and protection.
 * Nobody changes this file alone.
 */
#ifndef PLOVER_LIMITS_H
#define PLOVER_LIMITS_H

/* where the nozzle may go, mm: X, Y, Z */
#define AXIS_X_POSITION_MIN   0
#define AXIS_X_POSITION_MAX   168
#define AXIS_Y_POSITION_MIN   0
#define AXIS_Y_POSITION_MAX   172
#define AXIS_Z_POSITION_MIN   0
#define AXIS_Z_POSITION_MAX   146   /* case closes above it; 151 with the lid off */
//#define AXIS_Z_POSITION_MAX 151

/* end stops */
#define END_STOP_X_LINE       31
#define END_STOP_Y_LINE       32
#define END_STOP_Z_LINE       33
#define END_STOP_X_CLOSED     1     // closed while idle
#define END_STOP_Y_CLOSED     1
#define END_STOP_Z_CLOSED     0
#define END_STOP_PULL_UP      1

/* heaters: degrees C */
#define NOZZLE_HEATER_MAX_TEMPERATURE 265
#define NOZZLE_HEATER_MIN_TEMPERATURE 5
#define BED_HEATER_MAX_TEMPERATURE    95
#define BED_HEATER_MIN_TEMPERATURE    5

/* thermal protection: seconds and degrees C */
#define THERMAL_PROTECTION_NOZZLE         1
#define THERMAL_PROTECTION_NOZZLE_SECONDS 22
#define THERMAL_PROTECTION_NOZZLE_RISE    2
#define THERMAL_PROTECTION_BED            1
#define THERMAL_PROTECTION_BED_SECONDS    100
#define THERMAL_PROTECTION_BED_RISE       2

/* the supply is a battery in the field */
#ifdef ON_BATTERY
  #define SUPPLY_MIN_VOLTS    22.0
  #define SUPPLY_MAX_VOLTS    29.4
#else
  #define SUPPLY_MIN_VOLTS    21.0
  #define SUPPLY_MAX_VOLTS    26.0
#endif

#endif
