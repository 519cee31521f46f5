"""Sidecars as other programs write them, with all that XMP allows in one place or another. Invented, none is a copy."""

RICH = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<!-- kept by hand -->
<x:xmpmeta xmlns:x="adobe:ns:meta/" x:xmptk="Some Toolkit 1.2">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about="uuid:1234"
    xmlns:xmp="http://ns.adobe.com/xap/1.0/"
    xmlns:dc="http://purl.org/dc/elements/1.1/"
    xmlns:xmpMM="http://ns.adobe.com/xap/1.0/mm/"
    xmlns:stEvt="http://ns.adobe.com/xap/1.0/sType/ResourceEvent#"
    xmlns:odd="http://example.org/odd/1/"
    xmp:Rating="3" odd:Curve="0, 0&#10;128, 140&#xA;255, 255" xmp:Label='Second "half" > first'
    odd:Empty="">
   <dc:title>
    <rdf:Alt>
     <rdf:li xml:lang="x-default">Emerald</rdf:li>
     <rdf:li xml:lang="de">Smaragd &amp; Gl\u00fcck</rdf:li>
    </rdf:Alt>
   </dc:title>
   <dc:subject>
    <rdf:Bag>
     <rdf:li>pond</rdf:li>
     <rdf:li>dragonfly</rdf:li>
    </rdf:Bag>
   </dc:subject>
   <dc:creator><rdf:Seq><rdf:li>A</rdf:li></rdf:Seq></dc:creator>
   <xmpMM:History>
    <rdf:Seq>
     <rdf:li rdf:parseType="Resource"><stEvt:action>created</stEvt:action><stEvt:when>2026-06-01</stEvt:when></rdf:li>
     <rdf:li stEvt:action="saved" stEvt:changed="/"/>
    </rdf:Seq>
   </xmpMM:History>
   <odd:Deep rdf:parseType="Resource">
    <odd:inner rdf:parseType="Resource">
     <odd:list><rdf:Seq><rdf:li rdf:parseType="Resource"><odd:a>1</odd:a></rdf:li></rdf:Seq></odd:list>
    </odd:inner>
   </odd:Deep>
   <odd:link rdf:resource="http://example.org/x?a=1&amp;b=2"/>
   <odd:qualified xml:lang="fr">mot</odd:qualified>
   <odd:measured rdf:parseType="Resource"><rdf:value>5</rdf:value><odd:unit>mm</odd:unit></odd:measured>
   <odd:Raw><![CDATA[a < b]]></odd:Raw>
  </rdf:Description>
  <rdf:Description rdf:about="uuid:1234" xmlns:z="http://example.org/z/">
   <z:Points><rdf:Seq><rdf:li>0, 0</rdf:li></rdf:Seq></z:Points></rdf:Description>
 </rdf:RDF>
</x:xmpmeta>
                                                        \n<?xpacket end="w"?>
"""

ONE_LINE = (
    '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
    '<rdf:Description rdf:about="" xmlns:d="http://purl.org/dc/elements/1.1/"><d:subject><rdf:Bag/></d:subject>'
    "</rdf:Description></rdf:RDF></x:xmpmeta>"
)

NO_WRAPPER = """<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
 <rdf:Description rdf:about="" xmlns:xmp="http://ns.adobe.com/xap/1.0/">
  <xmp:Rating>0</xmp:Rating>
 </rdf:Description>
</rdf:RDF>
"""

NO_PROPERTIES = """<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"/>
</x:xmpmeta>
"""

DEFAULT_NAMESPACE = """<RDF xmlns="http://www.w3.org/1999/02/22-rdf-syntax-ns#"
  xmlns:r="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
 <Description r:about="" xmlns:dc="http://example.org/not-dublin/" dc:subject="theirs"/>
</RDF>
"""

UNUSUAL_PREFIXES = """<R:RDF xmlns:R="http://www.w3.org/1999/02/22-rdf-syntax-ns#"
  xmlns:core="http://purl.org/dc/elements/1.1/">
 <R:Description R:about='' xmlns:basic='http://ns.adobe.com/xap/1.0/' basic:Rating='0'>
  <core:subject><R:Seq><R:li>reeds</R:li></R:Seq></core:subject>
  <core:description>
   <R:Alt><R:li xml:lang='x-default'>my words</R:li><R:li xml:lang='de'>meine Worte</R:li></R:Alt>
  </core:description>
 </R:Description>
</R:RDF>
"""

ALL = {
    "rich": RICH,
    "one line": ONE_LINE,
    "no wrapper": NO_WRAPPER,
    "no properties": NO_PROPERTIES,
    "default namespace": DEFAULT_NAMESPACE,
    "unusual prefixes": UNUSUAL_PREFIXES,
    "with a byte order mark": "\ufeff" + NO_WRAPPER,
    "windows lines": RICH.replace("\n", "\r\n"),
    "tabs": RICH.replace("\n ", "\n\t"),
    "declared": '<?xml version="1.0" encoding="UTF-8"?>\n' + NO_WRAPPER,
}
