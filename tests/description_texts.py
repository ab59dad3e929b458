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
