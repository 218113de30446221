"""Rigs and fixture types for tests, made here and by nobody else."""

import io
import uuid
import zipfile


def packed(entries):
    """Return a ZIP archive; the clock has no part in it."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in entries.items():
            info = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            archive.writestr(info, data, zipfile.ZIP_DEFLATED)
    return target.getvalue()


def uid(number):
    return str(uuid.UUID(int=number))


def channel(offset, attribute, functions="", geometry="Body", **attributes):
    more = "".join(f' {name}="{value}"' for name, value in attributes.items())
    functions = functions or f'<ChannelFunction Name="All" Attribute="{attribute}"/>'
    return (
        f'<DMXChannel Offset="{offset}" Geometry="{geometry}"{more}>'
        f'<LogicalChannel Attribute="{attribute}">{functions}</LogicalChannel></DMXChannel>'
    )


def fixture_type(*channels, geometries='<Geometry Name="Body"/>', mode="Basic", more_modes=""):
    """Return a fixture type file with one mode of these channels."""
    attributes = "".join(
        f'<Attribute Name="{name}" Feature="F.F" PhysicalUnit="{unit}"/>'
        for name, unit in (("Dimmer", "LuminousIntensity"), ("Pan", "Angle"), ("Shutter1", "None"))
    )
    description = (
        '<?xml version="1.0" encoding="UTF-8"?><GDTF DataVersion="1.2">'
        '<FixtureType Name="Swell" Manufacturer="Bench" FixtureTypeID="">'
        f"<AttributeDefinitions><Attributes>{attributes}</Attributes></AttributeDefinitions>"
        f"<Geometries>{geometries}</Geometries><DMXModes>"
        f'<DMXMode Name="{mode}" Geometry="Body"><DMXChannels>{"".join(channels)}</DMXChannels>'
        f"</DMXMode>{more_modes}</DMXModes></FixtureType></GDTF>"
    )
    return packed({"description.xml": description})


def fixture(number, inside="", name=None, spec="Swell.gdtf", mode="Basic", attributes=""):
    """Return the node of a fixture; ``inside`` holds further nodes."""
    return (
        f'<Fixture name="{name or f"Wash {number}"}" uuid="{uid(number)}"{attributes}>'
        f"<GDTFSpec>{spec}</GDTFSpec><GDTFMode>{mode}</GDTFMode>"
        f"<FixtureID>{number}</FixtureID><FixtureIDNumeric>{number}</FixtureIDNumeric>"
        f"{inside}</Fixture>"
    )


def address(text, break_=None):
    attribute = "" if break_ is None else f' break="{break_}"'
    return f"<Addresses><Address{attribute}>{text}</Address></Addresses>"


def scene(*fixtures, aux=""):
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        '<GeneralSceneDescription verMajor="1" verMinor="6" provider="bench" providerVersion="1">'
        f'<Scene><AUXData>{aux}</AUXData><Layers><Layer uuid="{uid(900)}" name="LX">'
        f"<ChildList>{''.join(fixtures)}</ChildList></Layer></Layers></Scene>"
        "</GeneralSceneDescription>"
    )


def rig(*fixtures, aux="", **types):
    """Return a rig exchange archive; fixture types are given by name."""
    entries = {"GeneralSceneDescription.xml": scene(*fixtures, aux=aux)}
    return packed(entries | {f"{name}.gdtf": data for name, data in types.items()})
