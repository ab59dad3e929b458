"""What the tool of the invented family rowan knows of its parameters.

Row: code, decimal places, unit as the tool spells it, least, most, default (scaled), name.
"""

from __future__ import annotations

ROWS = """\
id/motor-code;0;-;;;-;Motor order code
id/axis-name;0;-;;;-;Axis name
id/vendor-mark;0;-;;;70412;Vendor mark
id/set-revision;0;-;;;1;Revision of the parameter set
now/position;3;°;;;0;Actual position
now/speed;1;1/min;;;0;Actual speed
now/torque;1;%MN;;;0;Actual torque
now/current;1;%IN;;;0;Actual current
now/dc-link;1;V;;;560;DC-link voltage
now/lag;3;°;;;0;Actual following error
now/heatsink;0;°C;;;25;Heatsink temperature
now/motor-temperature;0;°C;;;25;Motor temperature
now/motor-load;0;%;;;0;Motor overload level
now/hours;0;h;;;0;Operating hours
now/power-ups;0;-;;;0;Power cycles
now/last-fault;0;-;;;0;Latest fault
scl/encoder-steps;0;inc;1;;1048576;Encoder steps
scl/encoder-turns;0;U;1;;1;Encoder steps counted over
scl/gear-motor;0;U;1;;1;Gear, motor turns
scl/gear-output;0;U;1;;1;Gear, output turns
scl/feed;3;°;0.001;;360;Travel per output turns
scl/feed-turns;0;U;1;;1;Output turns for that travel
scl/direction;0;-;0;255;0;Direction of motion
pos/lag-window;3;°;0;100000;0.5;Following error window
pos/lag-time;0;ms;0;10000;10;Following error time-out
pos/lag-warning;3;°;0;100000;0.4;Following error warning
pos/in-window;3;°;0;100000;0.05;Position window
pos/in-time;0;ms;0;10000;10;Position window time
pos/limits-used;0;-;;;No;Software position limits used
pos/limit-low;3;°;;;0;Software position limit, lower
pos/limit-high;3;°;;;0;Software position limit, upper
pos/speed-max;1;°/s;0;;360;Maximum profile velocity
pos/accel-max;0;°/s²;0;;2000;Maximum acceleration
pos/decel-max;0;°/s²;0;;2000;Maximum deceleration
pos/speed;1;°/s;0;;90;Profile velocity
pos/accel;0;°/s²;0;;500;Profile acceleration
pos/decel;0;°/s²;0;;500;Profile deceleration
pos/jerk;0;°/s³;0;;10000;Profile jerk
pos/jog;1;°/s;0;;10;Jog velocity
pos/backlash;3;°;-10;10;0;Backlash compensation
pos/test-move;3;°;;;10;Test move
spd/mode;0;-;;;2;Operating mode
spd/profile;0;-;;;0;Motion profile
spd/min;0;1/min;0;12000;0;Lowest speed
spd/max;0;1/min;0;12000;3000;Highest speed
spd/motor-limit;0;U/min;0;12000;3600;Speed limit of the motor
spd/window;0;1/min;0;6000;50;At-speed window
spd/window-time;0;ms;0;10000;20;At-speed time
spd/standstill;0;1/min;0;6000;10;Standstill speed
spd/standstill-time;0;ms;0;10000;20;Standstill time
spd/fixed-1;0;1/min;-12000;12000;0;Fixed speed 1
spd/fixed-2;0;1/min;-12000;12000;0;Fixed speed 2
spd/fixed-3;0;1/min;-12000;12000;0;Fixed speed 3
frq/min;2;Hz;0;400;0;Minimum output frequency
frq/max;2;Hz;0;400;50;Maximum output frequency
frq/skip;2;Hz;0;400;0;Skipped frequency
frq/skip-width;2;Hz;0;50;0;Width of the skipped band
ramp/up;2;s;0;600;2;Acceleration time
ramp/down;2;s;0;600;2;Deceleration time
ramp/reference;0;1/min;1;12000;1500;Speed the ramp times reach
ramp/rounding;0;%;0;100;0;Rounding of the ramps
stop/quick;0;-;;;2;Quick stop reaction
stop/quick-decel;0;°/s²;0;;1000;Quick stop deceleration
stop/quick-time;2;s;0;600;1;Quick stop ramp time
stop/fault;0;-;;;2;Fault reaction
stop/halt;0;-;;;1;Halt reaction
stop/disable;0;-;;;1;Reaction to disabling operation
stop/shutdown;0;-;;;0;Shutdown reaction
stop/link-lost;0;-;;;1;Reaction to a lost connection
stop/overtravel;0;-;;;Output off at once, the motor coasts;Reaction to an over-travel input
stop/longest;0;ms;0;20000;3000;Longest stopping time
home/method;0;-;-128;37;0;Homing method
home/offset;3;°;;;0;Home offset
home/speed-switch;1;°/s;0;;20;Homing speed towards the switch
home/speed-zero;1;°/s;0;;5;Homing speed towards the zero point
home/accel;0;°/s²;0;;200;Homing acceleration
home/torque;1;%MN;0;300;50;Torque limit while homing
home/time-out;3;s;0;600;60;Homing time-out
ctl/position-gain;1;1/s;0;500;20;Position gain
ctl/speed-gain;3;-;0;1000;1;Speed gain
ctl/speed-integral;1;ms;0;1000;20;Speed integral time
ctl/current-gain;2;Ohm;0;1000;10;Current gain
ctl/current-integral;2;ms;0;1000;4;Current integral time
ctl/speed-forward;1;%;0;150;100;Speed feed-forward
ctl/accel-forward;1;%;0;150;0;Acceleration feed-forward
ctl/inertia-ratio;0;%;0;30000;100;Load inertia ratio
ctl/friction;1;%MN;0;50;0;Friction compensation
ctl/slip;1;%;0;200;100;Slip compensation
ctl/boost;1;V;0;60;12;Voltage boost at low frequency
ctl/voltage-curve;0;-;;;Linear;Voltage over frequency
flt/position;2;ms;0;1000;0;Position setpoint filter
flt/speed;2;ms;0;1000;0.5;Speed filter
flt/torque;2;ms;0;1000;0.5;Torque filter
flt/notch;1;Hz;0;2000;0;Notch filter frequency
flt/notch-width;1;Hz;0;2000;0;Notch filter bandwidth
flt/notch-depth;1;%;0;100;0;Notch filter depth
flt/setpoint;0;-;;;Off;Setpoint filter
trq/max;1;%MN;0;400;300;Maximum torque
trq/positive;1;%MN;0;400;300;Torque limit, positive
trq/negative;1;%MN;0;400;300;Torque limit, negative
trq/current-max;1;%IN;0;400;300;Maximum current
mot/rated-torque;3;Nm;0;;1;Motor rated torque
mot/rated-current;3;A;0;;1;Motor rated current
mot/rated-speed;0;1/min;0;20000;3000;Motor rated speed
mot/max-speed;0;1/min;0;20000;3600;Motor maximum speed
mot/max-current;3;A;0;;3;Motor maximum current
mot/kind;0;-;;;7;Motor type
mot/pole-pairs;0;-;1;64;2;Motor pole pairs
mot/inertia;2;kg·cm²;0;;1;Motor rotor inertia
mot/resistance;3;Ohm;0;;1;Winding resistance
mot/inductance;2;mH;0;;10;Winding inductance
mot/rated-voltage;0;V;0;690;400;Motor rated voltage
mot/rated-power;3;kW;0;;1;Motor rated power
mot/rated-frequency;2;Hz;0;400;50;Motor rated frequency
mot/power-factor;2;-;0;1;0.8;Motor power factor
mot/thermal-time;0;s;0;;1200;Motor thermal time constant
mot/temperature-limit;0;°C;0;200;140;Motor temperature limit
mot/overload-warning;0;%;0;150;90;Motor overload warning
enc/type;0;-;;;None;Encoder type
enc/offset;0;inc;;;0;Encoder absolute offset
enc/direction;0;-;;;Positive;Encoder counting direction
enc/commutation;1;°;-360;360;0;Commutation offset
enc/supply;1;V;4.5;12;5;Encoder supply voltage
brk/used;0;-;;;No;Holding brake used
brk/release-delay;0;ms;0;5000;50;Brake release delay
brk/apply-delay;0;ms;0;5000;50;Brake apply delay
brk/apply-speed;0;1/min;0;3000;30;Speed below which the brake is applied
sup/phases;0;-;;;Three-phase;Supply phases
sup/voltage;0;V;100;500;400;Supply voltage
sup/under;0;V;0;1000;380;DC-link under-voltage threshold
sup/over;0;V;0;1000;820;DC-link over-voltage threshold
sup/resistor;0;-;;;No;Braking resistor used
sup/resistor-ohms;1;Ohm;0;;100;Braking resistor resistance
sup/resistor-power;0;W;0;;100;Braking resistor continuous power
sup/resistor-energy;3;kJ;0;;1;Braking resistor pulse energy
sup/resistor-on;0;V;0;1000;770;Braking resistor switch-on voltage
in/1;0;-;;;Enable;Input 1
in/2;0;-;;;Not assigned;Input 2
in/3;0;-;;;Not assigned;Input 3
in/4;0;-;;;Not assigned;Input 4
in/5;0;-;;;Not assigned;Input 5
in/1-inverted;0;-;;;No;Input 1 inverted
in/2-inverted;0;-;;;No;Input 2 inverted
in/3-inverted;0;-;;;No;Input 3 inverted
in/4-inverted;0;-;;;No;Input 4 inverted
in/5-inverted;0;-;;;No;Input 5 inverted
in/filter;1;ms;0;100;2;Input filter time
in/analogue-scale;1;-;;;150;Analogue input, speed per volt
in/analogue-offset;0;mV;-10000;10000;0;Analogue input, offset
out/1;0;-;;;Ready;Output 1
out/2;0;-;;;Fault;Output 2
out/1-inverted;0;-;;;No;Output 1 inverted
out/2-inverted;0;-;;;No;Output 2 inverted
bus/address;0;-;1;127;1;Bus address
bus/interval;0;µs;250;100000;2000;Update interval
bus/missed;0;-;0;50;5;Missed updates tolerated
bus/time-out;0;ms;0;60000;100;Bus time-out
bus/bytes-in;0;byte;0;64;12;Bytes to the controller
bus/bytes-out;0;byte;0;64;12;Bytes from the controller
bus/heartbeat;0;ms;0;60000;200;Heartbeat sent every
safe/off-reaction;0;-;;;Fault, to be reset;Reaction to safe torque off
safe/off-compared;0;-;;;Yes;Safe torque off inputs compared
safe/checksum;0;-;;;0;Safety checksum
dev/rated-current;3;A;;;5.6;Drive rated current
dev/max-current;3;A;;;11.2;Drive maximum current
dev/switching;0;kHz;2;16;8;Switching frequency
dev/lock;0;-;;;Locked for operators;Parameter lock
dev/restart-power;0;-;;;No;Restart after power return
dev/restart-fault;0;-;;;No;Restart after a fault
"""

FROM_2_4 = """\
pos/lag-time;0;ms;0;30000;10;Following error time-out
flt/torque;2;ms;0;2000;0.5;Torque filter
sup/ride-through;0;ms;0;500;0;Supply dips bridged
"""
"""Parameters that firmware 2.4 brought or gave more room."""
