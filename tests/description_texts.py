"""Device descriptions for tests: an invented drive, in the forms of open standards.

Names of elements and attributes are from memory: CiA 311, ETG.2000, and the EDS of CIP networks.
"""

from __future__ import annotations

XDD = """<?xml version="1.0" encoding="UTF-8"?>
<ISO15745ProfileContainer xmlns="http://www.canopen.org/xml/1.0"
    xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
 <ISO15745Profile>
  <ProfileHeader><ProfileClassID>Device</ProfileClassID></ProfileHeader>
  <ProfileBody xsi:type="ProfileBody_Device_CANopen" fileVersion="2"
      fileCreationDate="2024-03-01" fileModificationDate="2025-05-01"
      fileModificationTime="10:30:00+02:00">
   <DeviceIdentity>
    <vendorName>Invented</vendorName><productName>Hazel 5</productName>
    <orderNumber>HZ-5</orderNumber>
   </DeviceIdentity>
   <ApplicationProcess>
    <dataTypeList>
     <enum uniqueID="E1" name="modes">
      <enumValue value="0"><label lang="de">Aus</label><label lang="en">Off</label></enumValue>
      <enumValue value="0x1"><label lang="en">Notch</label></enumValue>
     </enum>
    </dataTypeList>
    <templateList>
     <allowedValuesTemplate uniqueID="T1">
      <range><minValue value="-50"/><maxValue value="50"/></range>
     </allowedValuesTemplate>
    </templateList>
    <parameterList>
     <parameter uniqueID="P1" access="readWrite" multiplier="0.1">
      <label lang="de">Schleppfehler</label><label lang="en">Following error window</label>
      <description lang="en">Beyond it the drive trips</description>
      <UDINT/><defaultValue value="5000"/>
      <allowedValues><range><minValue value="1"/><maxValue value="90000"/></range></allowedValues>
      <unit multiplier="0.5"><label lang="en">mm</label></unit>
      <property name="restart" value="needed"/>
     </parameter>
     <parameter uniqueID="P2" access="readWrite">
      <label lang="en">Filter</label><dataTypeIDRef uniqueIDRef="E1"/>
     </parameter>
     <parameter uniqueID="P3" access="read">
      <label lang="en">Torque trim</label><SINT/>
      <allowedValues templateIDRef="T1"/>
      <unit><label lang="en">%</label></unit>
     </parameter>
     <parameter uniqueID="P4" access="readWrite" offset="5" multiplier="2">
      <label lang="en">Brake</label><USINT/>
      <allowedValues>
       <value value="0"><label lang="en">Released</label></value>
       <value value="1"><label lang="en">Applied</label></value>
      </allowedValues>
     </parameter>
    </parameterList>
    <parameterGroupList>
     <parameterGroup uniqueID="G1"><label lang="en">Supervision</label>
      <parameterRef uniqueIDRef="P1"/>
     </parameterGroup>
    </parameterGroupList>
   </ApplicationProcess>
  </ProfileBody>
 </ISO15745Profile>
 <ISO15745Profile>
  <ProfileBody xsi:type="ProfileBody_CommunicationNetwork_CANopen">
   <ApplicationLayers>
    <CANopenObjectList>
     <CANopenObject index="0005" name="Dummy" objectType="5" dataType="0005"/>
     <CANopenObject index="1000" name="Device type" objectType="7" dataType="0007"
         accessType="ro" defaultValue="0x00020192" PDOmapping="no"/>
     <CANopenObject index="1014" name="COB-ID EMCY" objectType="7" dataType="0007"
         accessType="rw" defaultValue="$NODEID+0x80"/>
     <CANopenObject index="6065" name="Following error" objectType="7" dataType="0007"
         accessType="rw" lowLimit="0" PDOmapping="optional" uniqueIDRef="P1"/>
     <CANopenObject index="6099" name="Homing speeds" objectType="8" subNumber="3">
      <CANopenSubObject subIndex="00" name="Highest sub-index" objectType="7" dataType="0005"
          accessType="const" defaultValue="2"/>
      <CANopenSubObject subIndex="01" name="Speed for switch" objectType="7" dataType="0007"
          accessType="rw" highLimit="0x1000" defaultValue="100"/>
      <CANopenSubObject subIndex="02" name="Speed for index" objectType="7" dataType="0004"
          accessType="rw" lowLimit="0x80000000" defaultValue="0xFFFFFFF9"/>
     </CANopenObject>
     <CANopenObject index="2010" name="Filter" objectType="7" dataType="0005" accessType="rw"
         uniqueIDRef="P2"/>
     <CANopenObject index="2011" objectType="7" uniqueIDRef="P3"/>
     <CANopenObject index="2012" name="Brake" objectType="7" dataType="0005" uniqueIDRef="P4"/>
     <CANopenObject index="2020" name="Axis name" objectType="7" dataType="0009"
         accessType="rw" defaultValue="lift &amp; turn"/>
    </CANopenObjectList>
   </ApplicationLayers>
  </ProfileBody>
 </ISO15745Profile>
</ISO15745ProfileContainer>
"""

XDC = (
    XDD.replace('index="6065"', 'index="6065" actualValue="0x00001388"')
    .replace('defaultValue="100"', "defaultValue=\"100\"  actualValue = '250'")
    .replace('defaultValue="0xFFFFFFF9"', 'defaultValue="0xFFFFFFF9" actualValue="0xFFFFFFFE"')
    .replace("<SINT/>", '<SINT/><actualValue value="-3"/>')
    .replace('index="2020"', 'index="2020" actualValue="lift"')
    .replace(
        "   </ApplicationLayers>",
        '   </ApplicationLayers>\n   <NetworkManagement><deviceCommissioning nodeID="5" '
        'nodeName="lift" actualBaudRate="500 Kbps"/></NetworkManagement>',
    )
)

ESI = """<?xml version="1.0" encoding="UTF-8"?>
<EtherCATInfo Version="1.6">
 <Vendor><Id>#x00000FFF</Id><Name>Invented</Name></Vendor>
 <Descriptions>
  <Devices>
   <Device Physics="YY">
    <Type ProductCode="#x00000005" RevisionNo="#x00010000">HZ-5</Type>
    <Name LcId="1031">Hasel 5</Name><Name LcId="1033"><![CDATA[Hazel 5]]></Name>
    <Profile>
     <Dictionary>
      <UnitTypes>
       <UnitType><NotationIndex>#xFD010000</NotationIndex><Symbol>mm</Symbol></UnitType>
      </UnitTypes>
      <DataTypes>
       <DataType><Name>UDINT</Name><BitSize>32</BitSize></DataType>
       <DataType><Name>STRING(4)</Name><BitSize>32</BitSize></DataType>
       <DataType><Name>DTMODE</Name><BaseType>SINT</BaseType><BitSize>8</BitSize>
        <EnumInfo><Text LcId="1031">Aus</Text><Text LcId="1033">Off</Text><Enum>0</Enum></EnumInfo>
        <EnumInfo><Text>Homing</Text><Enum>#x6</Enum></EnumInfo>
       </DataType>
       <DataType><Name>DT6099</Name><BitSize>80</BitSize>
        <SubItem><SubIdx>0</SubIdx><Name>SubIndex 000</Name><Type>USINT</Type>
         <BitSize>8</BitSize><BitOffs>0</BitOffs><Flags><Access>ro</Access></Flags></SubItem>
        <SubItem><SubIdx>1</SubIdx><Name>Speed for switch</Name><Type>UDINT</Type>
         <BitSize>32</BitSize><BitOffs>16</BitOffs>
         <Flags><Access>rw</Access><PdoMapping>R</PdoMapping></Flags></SubItem>
        <SubItem><SubIdx>2</SubIdx><Name>Speed for index</Name><Type>DINT</Type>
         <BitSize>32</BitSize><BitOffs>48</BitOffs><Flags><Access>rw</Access></Flags></SubItem>
       </DataType>
       <DataType><Name>DT2010ARR</Name><BaseType>INT</BaseType><BitSize>48</BitSize>
        <ArrayInfo><LBound>1</LBound><Elements>3</Elements></ArrayInfo></DataType>
       <DataType><Name>DT2010</Name><BitSize>64</BitSize>
        <SubItem><SubIdx>0</SubIdx><Name>SubIndex 000</Name><Type>USINT</Type>
         <Flags><Access>ro</Access></Flags></SubItem>
        <SubItem><Name>Elements</Name><Type>DT2010ARR</Type>
         <Flags><Access>wo</Access></Flags></SubItem>
       </DataType>
      </DataTypes>
      <Objects>
       <Object><Index>#x6065</Index><Name LcId="1031">Schleppfehler</Name>
        <Name LcId="1033">Following error window</Name>
        <Type>UDINT</Type><BitSize>32</BitSize>
        <Info><MinData>01000000</MinData><MaxData>A0860100</MaxData>
         <DefaultData>88130000</DefaultData><Unit>#xFD010000</Unit></Info>
        <Flags><Access ReadRestrictions="PreOP">rw</Access><PdoMapping>r</PdoMapping></Flags>
        <Comment>Beyond it the drive trips</Comment></Object>
       <Object><Index>24728</Index><Name>Homing method</Name><Type>DTMODE</Type>
        <Info><DefaultValue>-3</DefaultValue><Unit>none</Unit></Info>
        <Flags><Access>rw</Access></Flags></Object>
       <Object><Index>#x6099</Index><Name>Homing speeds</Name><Type>DT6099</Type>
        <Info>
         <SubItem><Name>SubIndex 000</Name><Info><DefaultData>02</DefaultData></Info></SubItem>
         <SubItem><Name>SubIndex 001</Name>
          <Info><DefaultData>64000000</DefaultData></Info></SubItem>
         <SubItem><Name>Speed for index</Name>
          <Info><DefaultData>F9FFFFFF</DefaultData></Info></SubItem>
        </Info>
        <Flags><Access>ro</Access></Flags></Object>
       <Object><Index>#x2010</Index><Name>Notch</Name><Type>DT2010</Type>
        <Info>
         <SubItem><Name>SubIndex 000</Name><Info><DefaultData>03</DefaultData></Info></SubItem>
         <SubItem><Name>Depth</Name><Info><DefaultData>0100</DefaultData></Info></SubItem>
         <SubItem><Name>SubIndex 002</Name><Info><DefaultData>FEFF</DefaultData></Info></SubItem>
        </Info></Object>
       <Object><Index>#x2020</Index><Name>Axis name</Name><Type>STRING(4)</Type>
        <Info><DefaultData>61623100</DefaultData></Info><Flags><Access>rw</Access></Flags></Object>
       <Object><Index>#x2021</Index><Name>Gain</Name><Type>REAL</Type>
        <Info><DefaultData>CDCCCC3D</DefaultData></Info></Object>
      </Objects>
     </Dictionary>
    </Profile>
   </Device>
  </Devices>
 </Descriptions>
</EtherCATInfo>
"""
TWO_DEVICES = ESI.replace(
    "   </Device>\n",
    """   </Device>
   <Device>
    <Type ProductCode="#x00000007" RevisionNo="#x00010000">HZ-7</Type><Name>Hazel 7</Name>
    <Profile><Dictionary><Objects>
     <Object><Index>#x6060</Index><Name>Mode</Name><Type>SINT</Type></Object>
    </Objects></Dictionary></Profile>
   </Device>
""",
)

CIP = """$ invented for tests
[File]
    DescText = "Hazel drive";
    Revision = 1.1;
[Device]
    VendCode = 4095;  VendName = "Invented";
    ProdName = "Hazel 5";
    MajRev = 2; MinRev = 1;
    Catalog = "HZ-5";
[ParamClass]
    MaxInst = 4;
[Params]
    Param1 =
        0,                      $ reserved
        6,"20 0F 24 01 30 01",  $ link path size, link path
        0x0004,                 $ descriptor: it is scaled
        0xC7,                   $ data type
        2,                      $ data size
        "Highest speed",        $ name
        "r/min",                $ units; text with a ; and a $ below
        "Where the drive ends; see "
        "the manual, \\"speed\\" ($)",
        0,30000,15000,          $ min, max, default
        1,10,1,0,               $ mult, div, base, offset
        ,,,,                    $ their links
        1;                      $ decimal places
    Param2 = 0,6,"20 0F 24 02 30 01",0x0012,0xC6,1,"Mode of stop","","",0,2,001,
        ,,,,,,,,0;
    Enum2 = 0,"Coast", 1,"Ramp, then off", 2,"Hold";
    Param3 = 0,,,4,0xC3,2,"Trim","%","",-100,100,-5,1,3,1,0,,,,,2;
    Param004 = 0,,,0,0xCA,4,"Gain","","",0.5,20,1.25,,,,,,,,,;
[Groups]
    Group1 = "Speed", 2, 1,3;
    Group2 = "Stop", 1, 2;
"""
