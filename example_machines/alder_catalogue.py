"""What the tool of the invented family alder knows of its objects.

Objects 1000h and 6000h to 67FFh are those of CiA 301 and CiA 402-2, numbers from memory; 2000h to
27FFh are our own. Row: index and sub-index, type, access, least, most, default (raw), name.
"""

from __future__ import annotations

ROWS = """\
1000:00;U32;const;;;131474;Device type
1008:00;TEXT;const;;;ALD servo drive;Device name
1009:00;TEXT;const;;;B;Hardware version
100A:00;TEXT;const;;;2.41.0;Firmware version
1018:01;U32;const;;;61166;Maker number
1018:02;U32;const;;;4610;Product code
1018:03;U32;const;;;131113;Revision number
1018:04;U32;const;;;0;Serial number
2020:01;TEXT;const;;;-;Drive serial number, printed
2020:02;TEXT;const;;;-;Motor serial number
2020:03;TEXT;const;;;-;Encoder designation
2020:04;TEXT;rw;;;-;Axis name
6403:00;TEXT;rw;;;-;Motor order code
6503:00;TEXT;const;;;-;Drive order code
1001:00;U8;ro;;;0;Error register
1003:01;U32;ro;;;0;Latest error
603F:00;U16;ro;;;0;Error code
6040:00;U16;rw;;;0;Controlword
6041:00;U16;ro;;;0;Statusword
6061:00;I8;ro;;;8;Operating mode in use
6062:00;I32;ro;;;0;Demanded position
6063:00;I32;ro;;;0;Actual position, increments
6064:00;I32;ro;;;0;Actual position
606B:00;I32;ro;;;0;Demanded velocity
606C:00;I32;ro;;;0;Actual velocity
6071:00;I16;rw;;;0;Target torque
6074:00;I16;ro;;;0;Demanded torque
6077:00;I16;ro;;;0;Actual torque
6078:00;I16;ro;;;0;Actual current
6079:00;U32;ro;;;0;DC-link voltage
607A:00;I32;rw;;;0;Target position
60F4:00;I32;ro;;;0;Actual following error
60FD:00;U32;ro;;;0;Digital inputs
60FE:01;U32;rw;;;0;Digital outputs
60FF:00;I32;rw;;;0;Target velocity
2600:01;U32;ro;;;0;Operating hours
2600:02;U32;ro;;;0;Power cycles
2600:03;I16;ro;;;25;Heatsink temperature
2600:04;I16;ro;;;25;Motor temperature
2600:05;U16;ro;;;0;Motor overload level
2600:06;I16;ro;;;25;Encoder temperature
607E:00;U8;rw;;;0;Polarity
608F:01;U32;rw;1;;1048576;Position encoder resolution, increments
608F:02;U32;rw;1;;1;Position encoder resolution, motor revolutions
6091:01;U32;rw;1;;1;Gear ratio, motor revolutions
6091:02;U32;rw;1;;1;Gear ratio, shaft revolutions
6092:01;U32;rw;1;;10000;Feed constant, feed
6092:02;U32;rw;1;;1;Feed constant, shaft revolutions
60A8:00;U32;rw;;;4194369536;SI unit of position
60A9:00;U32;rw;;;4194370304;SI unit of velocity
60AA:00;U32;rw;;;4194391808;SI unit of acceleration
60AB:00;U32;rw;;;4194410496;SI unit of jerk
6065:00;U32;rw;;;1000;Following error window
6066:00;U16;rw;0;65535;10;Following error time-out
6067:00;U32;rw;;;50;Position window
6068:00;U16;rw;0;65535;5;Position window time
606D:00;U16;rw;0;65535;2000;Velocity window
606E:00;U16;rw;0;65535;10;Velocity window time
606F:00;U16;rw;0;65535;1000;Velocity threshold
6070:00;U16;rw;0;65535;20;Velocity threshold time
607B:01;I32;rw;;;-2147483648;Position range, lower end
607B:02;I32;rw;;;2147483647;Position range, upper end
607D:01;I32;rw;;;0;Software position limit, lower
607D:02;I32;rw;;;0;Software position limit, upper
607F:00;U32;rw;;;0;Maximum profile velocity
6080:00;U32;rw;0;12000;3000;Maximum motor speed
60C5:00;U32;rw;;;0;Maximum acceleration
60C6:00;U32;rw;;;0;Maximum deceleration
2340:01;BOOL;rw;0;1;1;Software position limits used
2340:02;U32;rw;;;800;Following error warning
6060:00;I8;rw;-128;10;8;Operating mode
6081:00;U32;rw;;;0;Profile velocity
6082:00;U32;rw;;;0;End velocity
6083:00;U32;rw;;;0;Profile acceleration
6084:00;U32;rw;;;0;Profile deceleration
6086:00;I16;rw;-32768;3;0;Motion profile type
60A3:00;U8;rw;1;4;1;Number of jerks used
60A4:01;U32;rw;;;0;Profile jerk
60B0:00;I32;rw;;;0;Position offset
60B1:00;I32;rw;;;0;Velocity offset
60F2:00;U16;rw;0;65535;0;Positioning option code
2360:01;U32;rw;;;0;Jog velocity
2360:02;I32;rw;;;0;Reference move distance
2360:03;I32;rw;;;0;Backlash compensation
6007:00;I16;rw;-32768;3;1;Reaction to a lost connection
605A:00;I16;rw;-32768;8;2;Quick stop reaction
605B:00;I16;rw;-32768;1;1;Shutdown reaction
605C:00;I16;rw;-32768;1;1;Reaction to disabling operation
605D:00;I16;rw;-32768;4;1;Halt reaction
605E:00;I16;rw;-32768;4;2;Fault reaction
6085:00;U32;rw;;;0;Quick stop deceleration
2340:03;U16;rw;0;4;3;Reaction to an over-travel input
2340:04;U16;rw;0;20000;2000;Longest stopping time
607C:00;I32;rw;;;0;Home offset
6098:00;I8;rw;-128;37;37;Homing method
6099:01;U32;rw;;;0;Homing speed towards the switch
6099:02;U32;rw;;;0;Homing speed towards the zero point
609A:00;U32;rw;;;0;Homing acceleration
2380:01;U16;rw;0;3000;500;Torque limit while homing
2380:02;U32;rw;0;600000;60000;Homing time-out
6072:00;U16;rw;0;4000;3000;Maximum torque
6073:00;U16;rw;0;4000;3000;Maximum current
6087:00;U32;rw;;;10000;Torque slope
60B2:00;I16;rw;-3000;3000;0;Torque offset
60E0:00;U16;rw;0;4000;3000;Positive torque limit
60E1:00;U16;rw;0;4000;3000;Negative torque limit
2200:01;U32;rw;0;5000;300;Position gain
2200:02;U32;rw;0;1000000;4000;Velocity gain
2200:03;U32;rw;0;100000;120;Velocity integral time
2200:04;U32;rw;0;100000;1200;Current gain
2200:05;U32;rw;0;1000000;2500;Current integral time
2200:06;U16;rw;0;1500;1000;Velocity feed-forward
2200:07;U16;rw;0;1500;0;Acceleration feed-forward
2200:08;U32;rw;0;10000000;0;Inertia for torque feed-forward
2200:09;U16;rw;0;30000;100;Load inertia ratio
2200:0A;U16;rw;0;500;0;Friction compensation
2200:0B;U32;rw;0;5000;300;Position gain, second set
2200:0C;U32;rw;0;1000000;4000;Velocity gain, second set
2200:0D;U16;rw;0;2;0;Gain switching
2220:01;U32;rw;0;100000;0;Position setpoint filter time
2220:02;U32;rw;0;100000;30;Velocity filter time
2220:03;U32;rw;0;100000;40;Torque filter time
2220:04;U32;rw;0;20000;0;Notch filter frequency
2220:05;U32;rw;0;20000;0;Notch filter bandwidth
2220:06;U16;rw;0;1000;0;Notch filter depth
2220:07;U32;rw;0;20000;0;Notch filter 2 frequency
2220:08;U32;rw;0;20000;0;Notch filter 2 bandwidth
2220:09;U16;rw;0;1000;0;Notch filter 2 depth
2220:0A;U16;rw;0;2;0;Setpoint filter
2220:0B;U32;rw;0;10000;0;Setpoint filter time
6075:00;U32;rw;;;1000;Motor rated current
6076:00;U32;rw;;;1000;Motor rated torque
6402:00;U16;rw;0;65535;10;Motor type
2030:01;U16;rw;1;64;4;Motor pole pairs
2030:02;U32;rw;0;20000;3000;Motor rated speed
2030:03;U32;rw;0;20000;6000;Motor maximum speed
2030:04;U32;rw;0;500000;3000;Motor maximum current
2030:05;U32;rw;0;10000000;100;Motor rotor inertia
2030:06;U32;rw;0;1000000;1000;Winding resistance
2030:07;U32;rw;0;1000000;1000;Winding inductance
2030:08;U32;rw;0;100000;700;Torque constant
2030:09;U32;rw;0;100000;1200;Motor thermal time constant
2030:0A;U16;rw;0;200;140;Motor temperature limit
2030:0B;U16;rw;0;150;85;Motor overload warning
2010:01;U16;rw;0;7;5;Encoder type
2010:02;U8;ro;;;20;Encoder single-turn bits, as found
2010:03;U8;ro;;;12;Encoder multi-turn bits, as found
2010:04;I32;rw;;;0;Encoder absolute offset
2010:05;U16;rw;0;1;0;Encoder counting direction
2010:06;I32;rw;-3600;3600;0;Commutation offset
2010:07;U16;rw;4500;12000;5000;Encoder supply voltage
2050:01;BOOL;rw;0;1;0;Holding brake used
2050:02;U16;rw;0;5000;50;Brake release delay
2050:03;U16;rw;0;5000;50;Brake apply delay
2050:04;U16;rw;0;3000;30;Speed below which the brake is applied
2050:05;U32;rw;0;100000;0;Brake holding torque
2050:06;U16;rw;0;8760;0;Brake test reminder
2080:01;U16;rw;1;3;3;Supply phases
2080:02;U16;rw;100;500;400;Supply voltage
2080:03;U16;rw;0;1000;380;DC-link under-voltage threshold
2080:04;U16;rw;0;1000;820;DC-link over-voltage threshold
2080:05;U32;rw;0;100000;470;DC-link capacitance
2080:06;BOOL;rw;0;1;1;Phase loss watched
20A0:01;BOOL;rw;0;1;0;Braking resistor used
20A0:02;U32;rw;0;100000;1000;Braking resistor resistance
20A0:03;U32;rw;0;100000;100;Braking resistor continuous power
20A0:04;U32;rw;0;1000000;1000;Braking resistor pulse energy
20A0:05;U16;rw;0;1000;770;Braking resistor switch-on voltage
60FE:02;U32;rw;;;0;Digital outputs, mask
60B8:00;U16;rw;0;65535;0;Touch probe function
2300:01;U16;rw;0;60;10;Input 1 function
2300:02;U16;rw;0;60;0;Input 2 function
2300:03;U16;rw;0;60;0;Input 3 function
2300:04;U16;rw;0;60;0;Input 4 function
2300:05;U16;rw;0;60;0;Input 5 function
2300:06;U16;rw;0;60;0;Input 6 function
2301:01;BOOL;rw;0;1;0;Input 1 inverted
2301:02;BOOL;rw;0;1;0;Input 2 inverted
2301:03;BOOL;rw;0;1;0;Input 3 inverted
2301:04;BOOL;rw;0;1;0;Input 4 inverted
2301:05;BOOL;rw;0;1;0;Input 5 inverted
2301:06;BOOL;rw;0;1;0;Input 6 inverted
2302:00;U16;rw;0;1000;20;Input filter time
2310:01;U16;rw;0;60;1;Output 1 function
2310:02;U16;rw;0;60;3;Output 2 function
2310:03;U16;rw;0;60;0;Output 3 function
2311:01;BOOL;rw;0;1;0;Output 1 inverted
2311:02;BOOL;rw;0;1;0;Output 2 inverted
2311:03;BOOL;rw;0;1;0;Output 3 inverted
1006:00;U32;rw;;;1000;Communication cycle period
1007:00;U32;rw;;;500;Synchronous window length
100C:00;U16;rw;0;65535;0;Guard time
100D:00;U8;rw;0;255;0;Life time factor
1016:01;U32;rw;;;0;Heartbeat watched, node and time
1017:00;U16;rw;0;65535;100;Heartbeat sent every
1019:00;U8;rw;0;240;0;Synchronous counter overflow
60C2:01;U8;rw;1;255;1;Interpolation time period
60C2:02;I8;rw;-6;0;-3;Interpolation time index
2400:01;U16;rw;0;65535;0;Station alias
2400:02;U32;rw;125;20000;1000;Update interval
2400:03;U16;rw;0;20;3;Missed updates tolerated
2400:04;U16;ro;;;24;Process data, drive to controller
2400:05;U16;ro;;;22;Process data, controller to drive
2400:06;U16;rw;0;60000;50;Fieldbus time-out
2480:01;U16;rw;0;2;2;Reaction to safe torque off
2480:02;BOOL;rw;0;1;1;Safe torque off inputs compared
2480:03;U32;rw;0;60000;500;Delay of safe stop 1
2480:04;U32;rw;;;0;Safely limited speed
2480:05;U32;rw;0;60000;100;Delay of safely limited speed
2480:06;U16;rw;0;65535;0;Safety address
2480:07;U32;ro;;;0;Safety checksum
6502:00;U32;const;;;941;Supported operating modes
2500:01;U32;const;;;8000;Drive rated current
2500:02;U32;const;;;24000;Drive maximum current
2500:03;U16;rw;4;16;8;Switching frequency
2500:04;U16;rw;0;2;1;Parameter lock
2500:05;BOOL;rw;0;1;0;Restart after power return
2500:06;BOOL;rw;0;1;0;Restart after a fault
"""

FROM_3_0 = """\
2200:01;U32;rw;0;8000;300;Position gain
2220:03;U32;rw;0;1000000;400;Torque filter time
2220:0C;U32;rw;0;20000;0;Notch filter 3 frequency
2220:0D;U32;rw;0;20000;0;Notch filter 3 bandwidth
2220:0E;U16;rw;0;1000;0;Notch filter 3 depth
"""
"""Objects that firmware 3.0 brought, gave more room or set finer."""
