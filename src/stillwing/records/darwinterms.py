"""The terms of Darwin Core and of Audiovisual Core that are written, each by its name and its address."""

__all__ = ["AUDIOVISUAL", "COLUMNS", "MEDIA_COLUMNS", "MULTIMEDIA", "OCCURRENCE", "OCCURRENCE_ID", "iri", "local_name"]

DWC = "http://rs.tdwg.org/dwc/terms/"
SPACES = {
    "dwc": DWC,
    "dcterms": "http://purl.org/dc/terms/",
    "dc": "http://purl.org/dc/elements/1.1/",
    "ac": "http://rs.tdwg.org/ac/terms/",
    "xmpRights": "http://ns.adobe.com/xap/1.0/rights/",
}
OCCURRENCE = f"{DWC}Occurrence"
AUDIOVISUAL = "http://rs.tdwg.org/ac/terms/Multimedia"
MULTIMEDIA = "http://rs.gbif.org/terms/1.0/Multimedia"
"""A smaller extension for pictures that others write; it is read, not written."""
OCCURRENCE_ID = "occurrenceID"

COLUMNS = (
    "dwc:occurrenceID",
    "dwc:basisOfRecord",
    "dwc:occurrenceStatus",
    "dwc:scientificName",
    "dwc:kingdom",
    "dwc:identificationQualifier",
    "dwc:verbatimIdentification",
    "dwc:identifiedBy",
    "dwc:identificationVerificationStatus",
    "dwc:eventDate",
    "dwc:decimalLatitude",
    "dwc:decimalLongitude",
    "dwc:geodeticDatum",
    "dwc:coordinateUncertaintyInMeters",
    "dwc:coordinatePrecision",
    "dwc:locality",
    "dwc:individualCount",
    "dwc:sex",
    "dwc:lifeStage",
    "dwc:behavior",
    "dwc:degreeOfEstablishment",
    "dwc:recordedBy",
    "dwc:associatedMedia",
    "dwc:occurrenceRemarks",
    "dcterms:license",
    "dwc:informationWithheld",
    "dwc:dataGeneralizations",
    "dwc:dynamicProperties",
)
"""Of an occurrence, in the order in which they are written."""

MEDIA_COLUMNS = (
    "dcterms:identifier",
    "dc:type",
    "dcterms:title",
    "ac:accessURI",
    "dc:format",
    "dc:creator",
    "xmpRights:WebStatement",
    "ac:associatedObservationReference",
)
"""Of a picture, behind the key of its occurrence."""


def iri(term: str) -> str:
    """Return the address of a term that is named with its prefix.

    Examples
    --------
    >>> iri("dcterms:license")
    'http://purl.org/dc/terms/license'
    """
    prefix, _, name = term.partition(":")
    return SPACES[prefix] + name


def local_name(term: str) -> str:
    """Return the last part of a term's address or prefixed name, which is what Simple Darwin Core heads a column with.

    Examples
    --------
    >>> local_name("http://purl.org/dc/terms/license"), local_name("dwc:sex"), local_name("sex")
    ('license', 'sex', 'sex')
    """
    if "://" in term:
        return term.rstrip("/").replace("#", "/").rsplit("/", 1)[-1]
    prefix, colon, name = term.partition(":")
    return name if colon and prefix in SPACES else term
