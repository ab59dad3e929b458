"""What the tool of the invented family larch knows of its parameters.

Row: code, `all` where it belongs to the whole drive, step, access, least, most, default (in
steps), name.
"""

from __future__ import annotations

ROWS = """\
dia-001;;0.001 mm;ro;;;0;Actual position
dia-002;;0.1 mm/s;ro;;;0;Actual velocity
dia-003;;0.1 %MN;ro;;;0;Actual torque
dia-004;;0.1 %IN;ro;;;0;Actual current
dia-005;;0.1 V;ro;;;0;DC-link voltage
dia-006;;0.001 mm;ro;;;0;Actual following error
dia-007;;0.1 degC;ro;;;0;Motor temperature
dia-008;all;0.1 degC;ro;;;0;Heatsink temperature
dia-009;;0.1 %;ro;;;0;Motor overload level
dia-010;all;0.1 h;ro;;;0;Operating hours
dia-011;all;;ro;;;0;Power cycles
dia-012;;;ro;;;0;Latest error code
dia-013;;;ro;;;0;Statusword
dia-014;;0.001 mm;ro;;;0;Demanded position
dia-015;;;ro;;;0;Digital inputs
mov-101;;;rw;;;mm;User unit
mov-102;;;rw;0;255;0;Direction of motion
mov-103;;;rw;-128;10;8;Operating mode
mov-104;;0.001 mm;rw;0;10000000;2000;Following error window
mov-105;;1 ms;rw;0;10000;10;Following error time-out
mov-106;;0.001 mm;rw;0;10000000;1500;Following error warning
mov-107;;0.001 mm;rw;0;10000000;100;Position window
mov-108;;1 ms;rw;0;10000;10;Position window time
mov-110;;1 U;rw;1;100000;1;Gear, motor turns
mov-111;;1 U;rw;1;100000;1;Gear, output turns
mov-112;;0.001 mm;rw;1;100000000;100000;Travel per output turns
mov-113;;1 U;rw;1;100000;1;Output turns for that travel
mov-120;;;rw;0;1;1;Software position limits used
mov-121;;0.001 mm;rw;;;0;Software position limit, lower
mov-122;;0.001 mm;rw;;;0;Software position limit, upper
mov-123;;;rw;0;4;4;Reaction to an over-travel input
mov-130;;0.1 mm/s;rw;0;100000000;10000;Maximum profile velocity
mov-131;;1 mm/s²;rw;0;1000000;3000;Maximum acceleration
mov-132;;1 mm/s²;rw;0;1000000;3000;Maximum deceleration
mov-133;;0.1 mm/s;rw;0;100000000;5000;Profile velocity
mov-134;;1 mm/s²;rw;0;1000000;1000;Profile acceleration
mov-135;;1 mm/s²;rw;0;1000000;1000;Profile deceleration
mov-136;;;rw;0;3;0;Motion profile
mov-137;;1 mm/s³;rw;0;100000000;20000;Profile jerk
mov-138;;1 mm/s²;rw;0;1000000;3000;Quick stop deceleration
mov-139;;1 r/min;rw;0;20000;4000;Speed limit of the motor
mov-140;;0.1 mm/s;rw;0;100000;500;Jog velocity
mov-141;;0.001 mm;rw;;;100000;Test move
mov-142;;0.001 mm;rw;-10000;10000;0;Backlash compensation
mov-143;;0.1 mm/s;rw;0;1000000;100;Standstill velocity
mov-144;;1 ms;rw;0;10000;20;Standstill time
mov-150;;;rw;-128;37;37;Homing method
mov-151;;0.001 mm;rw;;;0;Home offset
mov-152;;0.1 mm/s;rw;0;1000000;500;Homing speed towards the switch
mov-153;;0.1 mm/s;rw;0;1000000;50;Homing speed towards the zero point
mov-154;;1 mm/s²;rw;0;1000000;300;Homing acceleration
mov-155;;0.1 %MN;rw;0;3000;500;Torque limit while homing
mov-156;;1 ms;rw;0;600000;90000;Homing time-out
mov-160;;;rw;0;8;2;Quick stop reaction
mov-161;;;rw;0;4;2;Fault reaction
mov-162;;;rw;0;4;1;Halt reaction
mov-163;;;rw;0;1;1;Shutdown reaction
mov-164;;;rw;0;1;1;Reaction to disabling operation
mov-165;;;rw;0;3;1;Reaction to a lost connection
mov-166;;1 ms;rw;0;20000;2500;Longest stopping time
reg-201;;0.01 (m/min)/mm;rw;0;10000;120;Position gain
reg-202;;0.01 (m/min)/mm;rw;0;10000;120;Position gain, second set
reg-203;;;rw;0;2;0;Gain switching
reg-205;;0.1 %;rw;0;1500;1000;Velocity feed-forward
reg-206;;0.1 %;rw;0;1500;0;Acceleration feed-forward
reg-210;;0.0001 N*m*s/rad;rw;0;10000000;5000;Velocity gain
reg-211;;0.1 ms;rw;0;100000;150;Velocity integral time
reg-212;;0.0001 N*m*s/rad;rw;0;10000000;5000;Velocity gain, second set
reg-215;;1 %;rw;0;30000;100;Load inertia ratio
reg-216;;0.01 kg*cm^2;rw;0;10000000;0;Inertia for torque feed-forward
reg-217;;0.1 %MN;rw;0;500;0;Friction compensation
reg-218;;0.1 %MN;rw;-3000;3000;0;Weight compensation
reg-220;;0.01 ohm;rw;0;100000;900;Current gain
reg-221;;0.01 ms;rw;0;100000;300;Current integral time
reg-231;;0.1 ms;rw;0;10000;0;Position setpoint filter
reg-232;;0.1 ms;rw;0;10000;4;Velocity filter
reg-233;;0.1 ms;rw;0;10000;5;Torque filter
reg-234;;0.1 Hz;rw;0;20000;0;Notch filter frequency
reg-235;;0.1 Hz;rw;0;20000;0;Notch filter bandwidth
reg-236;;0.1 %;rw;0;1000;0;Notch filter depth
reg-237;;;rw;0;2;0;Setpoint filter
reg-238;;0.1 ms;rw;0;10000;0;Setpoint filter time
reg-250;;0.1 %MN;rw;0;4000;3000;Maximum torque
reg-251;;0.1 %MN;rw;0;4000;3000;Torque limit, positive
reg-252;;0.1 %MN;rw;0;4000;3000;Torque limit, negative
reg-253;;0.1 %IN;rw;0;4000;3000;Maximum current
mot-301;;;rw;;;-;Motor order code
mot-302;;;rw;;;-;Motor serial number
mot-303;;;rw;0;30;10;Motor type
mot-304;;;rw;1;64;4;Motor pole pairs
mot-305;;0.001 N*m;rw;0;1000000;1000;Motor rated torque
mot-306;;0.001 A;rw;0;1000000;1000;Motor rated current
mot-307;;1 r/min;rw;0;20000;3000;Motor rated speed
mot-308;;1 r/min;rw;0;20000;5000;Motor maximum speed
mot-309;;0.001 A;rw;0;1000000;3000;Motor maximum current
mot-310;;0.01 kg*cm^2;rw;0;10000000;100;Motor rotor inertia
mot-311;;0.001 ohm;rw;0;1000000;1000;Winding resistance
mot-312;;0.01 mH;rw;0;1000000;1000;Winding inductance
mot-313;;0.001 N*m/A;rw;0;1000000;1000;Torque constant
mot-314;;1 s;rw;0;100000;1500;Motor thermal time constant
mot-315;;0.1 degC;rw;0;2000;1400;Motor temperature limit
mot-316;;0.1 %;rw;0;1500;850;Motor overload warning
enc-401;;;rw;0;7;5;Encoder type
enc-402;;1 increments;rw;1;2147483647;1048576;Encoder increments
enc-403;;1 U;rw;1;100000;1;Encoder increments counted over
enc-404;;1 bit;rw;0;32;20;Encoder single-turn bits
enc-405;;1 bit;rw;0;32;12;Encoder multi-turn bits
enc-406;;1 increments;rw;;;0;Encoder absolute offset
enc-407;;;rw;0;1;0;Encoder counting direction
enc-408;;0.1 deg;rw;-3600;3600;0;Commutation offset
brk-501;;;rw;0;1;0;Holding brake used
brk-502;;1 ms;rw;0;5000;50;Brake release delay
brk-503;;1 ms;rw;0;5000;50;Brake apply delay
brk-504;;1 r/min;rw;0;3000;30;Speed below which the brake is applied
brk-505;;0.1 N*m;rw;0;100000;0;Brake holding torque
brk-506;;1 h;rw;0;8760;0;Brake test reminder
pwr-601;all;;rw;0;2;0;Supply phases
pwr-602;all;1 V;rw;100;500;400;Supply voltage
pwr-603;all;1 V;rw;0;1000;370;DC-link under-voltage threshold
pwr-604;all;1 V;rw;0;1000;830;DC-link over-voltage threshold
pwr-605;all;1 uF;rw;0;100000;940;DC-link capacitance
pwr-610;all;;rw;0;1;1;Braking resistor used
pwr-611;all;0.1 ohm;rw;0;100000;470;Braking resistor resistance
pwr-612;all;1 W;rw;0;100000;300;Braking resistor continuous power
pwr-613;all;1 J;rw;0;1000000;3000;Braking resistor pulse energy
pwr-614;all;1 V;rw;0;1000;780;Braking resistor switch-on voltage
pwr-620;;0.001 A;const;;;12000;Drive rated current
pwr-621;;0.001 A;const;;;36000;Drive maximum current
pwr-622;;1 kHz;rw;4;16;8;Switching frequency
pwr-630;all;;rw;0;2;1;Parameter lock
pwr-631;all;;rw;0;1;0;Restart after power return
pwr-632;all;;rw;0;1;0;Restart after a fault
sig-701;;;rw;0;40;1;Input 1 function
sig-702;;;rw;0;40;0;Input 2 function
sig-703;;;rw;0;40;0;Input 3 function
sig-704;;;rw;0;40;0;Input 4 function
sig-711;;;rw;0;1;0;Input 1 inverted
sig-712;;;rw;0;1;0;Input 2 inverted
sig-713;;;rw;0;1;0;Input 3 inverted
sig-714;;;rw;0;1;0;Input 4 inverted
sig-720;;0.1 ms;rw;0;1000;20;Input filter time
sig-731;;;rw;0;40;1;Output 1 function
sig-732;;;rw;0;40;2;Output 2 function
net-801;;;rw;1;65535;1;Bus address
net-802;all;1 us;rw;125;20000;1000;Update interval
net-803;all;;rw;0;20;3;Missed updates tolerated
net-804;all;1 ms;rw;0;60000;40;Bus time-out
net-805;all;1 byte;rw;0;128;26;Bytes to the controller
net-806;all;1 byte;rw;0;128;24;Bytes from the controller
net-807;;;rw;;;-;Axis name
saf-901;all;;rw;0;2;2;Reaction to safe torque off
saf-902;all;;rw;0;1;1;Safe torque off inputs compared
saf-903;;1 ms;rw;0;60000;600;Delay of safe stop 1
saf-904;;0.1 mm/s;rw;0;1000000;2500;Safely limited speed
saf-905;;1 ms;rw;0;60000;100;Delay of safely limited speed
saf-906;;;rw;0;65535;0;Safety address
saf-907;all;;ro;;;0;Safety checksum
"""

FROM_5_0 = """\
reg-232;;0.01 ms;rw;0;10000;40;Velocity filter
reg-233;;0.01 ms;rw;0;10000;50;Torque filter
reg-239;;0.1 %;rw;0;1000;0;Vibration damping
"""
"""Parameters that firmware 5.0 brought or set finer."""
