import { FindingList, formatFindings } from './finding.ts';
import type { DeviceType } from './model.ts';
import { sheetContent } from './sheet.ts';
import { TYPES } from './sheets/types.ts';

/**
 * The built-in table, in the form of types.csv. The first eight are names of our own for parts whose type
 * number is not known.
 *
 * Ratings and gains: the source column of each row; `memory` is a row written down without one. A `vceo` that is not
 * stated with open base says so. What the sheets do not state is common practice, no source:
 * - `vj` at `ij`: 0.25 V at 5 mA for small germanium transistors (at 100 mA for a power type), 0.65 V at 2 mA for silicon.
 * - Leakage: sheets give a limit; what is soldered in lies well below, so a third of the limit stands here.
 * - Diodes: 0.3 V at 1 mA for point contacts and 0.25 V for gold bonds, and `rs` so that the sheet's forward drop at its
 *   current comes out with the emission coefficient of the row. For most that drop is a limit.
 */
const BUILT_IN = `type,kind,polarity,material,vj,ij,hfe_min,hfe_typ,hfe_max,icbo,rs,n,vceo,vcbo,vebo,ic,pd,ft,source
GE-PNP,transistor,pnp,ge,0.25,5m,30,60,120,2u,,,,,,,,,no type number: common practice
GE-NPN,transistor,npn,ge,0.25,5m,30,60,120,2u,,,,,,,,,no type number: common practice
SI-PNP,transistor,pnp,si,0.65,2m,60,120,300,5n,,,,,,,,,no type number: common practice
SI-NPN,transistor,npn,si,0.65,2m,60,120,300,5n,,,,,,,,,no type number: common practice
GE-DIODE,diode,,ge,0.3,1m,,,,5u,100,,,,,,,,no type number: common practice; point contact
GE-GOLD-DIODE,diode,,ge,0.25,1m,,,,10u,5,,,,,,,,no type number: common practice
SI-DIODE,diode,,si,0.62,1m,,,,5n,1,,,,,,,,no type number: common practice
ZENER,zener,,si,0.65,1m,,,,10n,,,,,,,,,no type number: common practice; the voltage is the value of the part
2N404,transistor,pnp,ge,250m,5m,30,,,1.7u,,,24,25,12,100m,150m,4M,distributor data page; vceo is punch-through; ft is the alpha cut-off
2N404A,transistor,pnp,ge,250m,5m,30,,,1.7u,,,35,40,25,150m,150m,4M,memory; vceo is punch-through; ft is the alpha cut-off
2N1302,transistor,npn,ge,250m,5m,20,,,2u,,,25,25,25,300m,150m,3M,maker sheet 2N1302-2N1309 and memory; vceo is reach-through; ft is the alpha cut-off
2N1303,transistor,pnp,ge,250m,5m,20,,,2u,,,25,30,25,300m,150m,3M,maker sheet 2N1302-2N1309 and memory; vceo is reach-through; ft is the alpha cut-off
2N1304,transistor,npn,ge,250m,5m,40,,200,2u,,,20,25,25,300m,150m,5M,maker sheet 2N1302-2N1309 and memory; vceo is reach-through; ft is the alpha cut-off
2N1305,transistor,pnp,ge,250m,5m,40,,200,2u,,,20,30,25,300m,150m,5M,maker sheet 2N1302-2N1309 and memory; vceo is reach-through; ft is the alpha cut-off
2N1306,transistor,npn,ge,250m,5m,60,,300,2u,,,15,25,25,300m,150m,10M,maker sheet 2N1302-2N1309 and memory; vceo is reach-through; ft is the alpha cut-off
2N1307,transistor,pnp,ge,250m,5m,60,,300,2u,,,15,30,25,300m,150m,10M,maker sheet 2N1302-2N1309 and memory; vceo is reach-through; ft is the alpha cut-off
2N1308,transistor,npn,ge,250m,5m,80,,,2u,,,15,25,25,300m,150m,15M,maker sheet 2N1302-2N1309 and memory; vceo is reach-through; ft is the alpha cut-off
2N1309,transistor,pnp,ge,250m,5m,80,,,2u,,,15,30,25,300m,150m,15M,maker sheet 2N1302-2N1309 and memory; vceo is reach-through; ft is the alpha cut-off
2N388,transistor,npn,ge,250m,5m,60,,180,3.3u,,,20,25,15,200m,150m,5M,memory; vceo is VCER; ft is the alpha cut-off
2N396,transistor,pnp,ge,250m,5m,30,,150,2u,,,20,30,20,200m,150m,5M,memory; ft is the alpha cut-off
2N397,transistor,pnp,ge,250m,5m,40,,150,2u,,,15,30,20,200m,150m,10M,memory; ft is the alpha cut-off
2N414,transistor,pnp,ge,250m,5m,,60,,1.7u,,,15,30,20,200m,150m,7M,memory; vceo is VCER; ft is the alpha cut-off
2N524,transistor,pnp,ge,250m,5m,25,,42,3.3u,,,30,45,15,500m,225m,1M,memory; vceo is VCER; ft is the alpha cut-off
2N525,transistor,pnp,ge,250m,5m,34,,65,3.3u,,,30,45,15,500m,225m,1M,memory; vceo is VCER; ft is the alpha cut-off
2N526,transistor,pnp,ge,250m,5m,53,,90,3.3u,,,30,45,15,500m,225m,1M,memory; vceo is VCER; ft is the alpha cut-off
2N527,transistor,pnp,ge,250m,5m,72,,121,3.3u,,,30,45,15,500m,225m,1M,memory; vceo is VCER; ft is the alpha cut-off
2N501,transistor,pnp,ge,250m,5m,20,,,2u,,,12,15,,,60m,90M,data book numerical index; leakage assumed; vceo is VCES
2N501A,transistor,pnp,ge,250m,5m,30,,,2u,,,12,15,,,60m,,data book numerical index; leakage assumed; vceo is VCES
2N508,transistor,pnp,ge,250m,5m,99,,198,2u,,,18,18,,,200m,2.5M,data book numerical index; leakage assumed; vceo is VCER; ft is the alpha cut-off
2N508A,transistor,pnp,ge,250m,5m,100,,200,2u,,,30,30,,,200m,2.5M,data book numerical index; leakage assumed; vceo is VCES; ft is the alpha cut-off
2N705,transistor,pnp,ge,250m,5m,25,,,1u,,,15,15,3.5,50m,150m,300M,memory; vceo is VCES
2N711,transistor,pnp,ge,250m,5m,20,,,1u,,,12,12,1,100m,150m,150M,memory; vceo is VCES
OC44,transistor,pnp,ge,250m,5m,45,100,225,670n,,,15,15,12,5m,83m,7.5M,memory; vceo is VCER; ft is the alpha cut-off
OC45,transistor,pnp,ge,250m,5m,25,50,125,670n,,,15,15,12,5m,83m,3M,memory; vceo is VCER; ft is the alpha cut-off
OC70,transistor,pnp,ge,250m,5m,20,30,40,4u,,,20,30,10,10m,125m,,memory; vceo is VCER
OC71,transistor,pnp,ge,250m,5m,30,47,75,4u,,,20,30,10,10m,125m,,memory; vceo is VCER
OC72,transistor,pnp,ge,250m,5m,30,,,2u,,,16,16,10,125m,165m,250k,component data page OC72; leakage assumed
OC76,transistor,pnp,ge,250m,5m,45,,,3.3u,,,32,32,10,125m,165m,350k,memory; vceo is VCER; ft is the alpha cut-off
OC139,transistor,npn,ge,250m,5m,20,,50,1.7u,,,20,20,20,250m,145m,3.5M,memory; vceo is VCER; ft is the alpha cut-off
OC140,transistor,npn,ge,250m,5m,50,,100,1.7u,,,20,20,20,400m,145m,4.5M,memory; vceo is VCER; ft is the alpha cut-off
AC125,transistor,pnp,ge,250m,5m,50,100,,3.3u,,,12,32,10,100m,216m,1.3M,memory
AC126,transistor,pnp,ge,250m,5m,65,140,,3.3u,,,12,32,10,100m,216m,1.7M,memory
AC127,transistor,npn,ge,250m,5m,50,,100,3.3u,,,12,32,10,500m,340m,1.5M,memory
AC128,transistor,pnp,ge,250m,5m,55,,175,2u,,,32,32,10,1,700m,1M,two data pages AC128; leakage assumed; vceo is VCE as listed
AF114,transistor,pnp,ge,250m,5m,,150,,2.7u,,,15,20,2,10m,75m,,memory; vceo is VCER
AF115,transistor,pnp,ge,250m,5m,,150,,2.7u,,,15,20,2,10m,75m,,memory; vceo is VCER
AF116,transistor,pnp,ge,250m,5m,,150,,2.7u,,,15,20,2,10m,75m,,memory; vceo is VCER
AF117,transistor,pnp,ge,250m,5m,,150,,2.7u,,,15,20,2,10m,75m,,memory; vceo is VCER
ASY26,transistor,pnp,ge,250m,5m,30,,80,1u,,,15,30,20,200m,150m,4M,memory; ft is the alpha cut-off
ASY27,transistor,pnp,ge,250m,5m,50,,150,1u,,,15,25,20,200m,150m,6M,memory; ft is the alpha cut-off
ASY28,transistor,npn,ge,250m,5m,30,,80,1u,,,15,30,20,200m,150m,4M,memory; ft is the alpha cut-off
ASY29,transistor,npn,ge,250m,5m,50,,150,1u,,,15,25,20,200m,150m,6M,memory; ft is the alpha cut-off
ASZ15,transistor,pnp,ge,250m,100m,20,,55,100u,,,60,100,40,8,30,200k,memory; leakage assumed
MP39,transistor,pnp,ge,250m,5m,12,,,5u,,,15,15,5,20m,150m,500k,data page MP39-MP42 and memory; vceo is VCE; ft is the h21 limit
MP40,transistor,pnp,ge,250m,5m,20,,40,5u,,,15,15,10,20m,150m,1M,data page MP39-MP42 and memory; vceo is VCE; ft is the h21 limit
MP41,transistor,pnp,ge,250m,5m,30,,60,5u,,,15,15,10,20m,150m,1M,data page MP39-MP42 and memory; vceo is VCE; ft is the h21 limit
MP42,transistor,pnp,ge,250m,5m,20,,35,5u,,,15,15,10,20m,200m,2M,data page MP39-MP42 and memory; vceo is VCE; ft is the h21 limit
MP42A,transistor,pnp,ge,250m,5m,30,,50,5u,,,15,15,10,20m,200m,1.5M,data page MP39-MP42 and memory; vceo is VCE; ft is the h21 limit
MP42B,transistor,pnp,ge,250m,5m,45,,100,5u,,,15,15,10,20m,200m,1M,data page MP39-MP42 and memory; vceo is VCE; ft is the h21 limit
2N3904,transistor,npn,si,650m,2m,100,,300,17n,,,40,60,6,200m,625m,300M,maker chip list
2N3906,transistor,pnp,si,650m,2m,100,,300,17n,,,40,40,5,200m,625m,250M,encyclopaedia and distributor pages
2N2222A,transistor,npn,si,650m,2m,100,,300,3.3n,,,40,75,6,800m,500m,300M,memory
2N2907A,transistor,pnp,si,650m,2m,100,,300,3.3n,,,60,60,5,600m,400m,200M,memory
BC547A,transistor,npn,si,650m,2m,110,,220,5n,,,45,50,6,100m,500m,300M,maker chip list
BC547B,transistor,npn,si,650m,2m,200,,450,5n,,,45,50,6,100m,500m,300M,maker chip list
BC557B,transistor,pnp,si,650m,2m,220,,475,5n,,,45,50,5,100m,500m,150M,memory
1N34A,diode,,ge,300m,1m,,,,10u,156,,,60,,50m,80m,,two web pages for the voltage and memory
1N60,diode,,ge,300m,1m,,,,22u,212,,,40,,50m,80m,,memory
1N270,diode,,ge,250m,1m,,,,33u,2.54,,,80,,60m,80m,,memory
NTE109,diode,,ge,250m,1m,,,,33u,2.54,,,80,,60m,80m,,maker sheet NTE109
1N277,diode,,ge,250m,1m,,,,25u,5.42,,,100,,60m,80m,,memory
1N100,diode,,ge,250m,1m,,,,17u,32.2,,,80,,40m,80m,,memory
1N191,diode,,ge,300m,1m,,,,1u,156,,,90,,30m,80m,,memory; leakage from 55 C
1N198,diode,,ge,300m,1m,,,,3.3u,156,,,80,,30m,80m,,memory
OA47,diode,,ge,250m,1m,,,,33u,4.58,,,25,,110m,,,memory
OA81,diode,,ge,300m,1m,,,,25u,160,,,90,,50m,,,memory
OA90,diode,,ge,300m,1m,,,,150u,122,,,20,,10m,,,memory
OA91,diode,,ge,300m,1m,,,,25u,166,,,90,,50m,,,memory
OA95,diode,,ge,300m,1m,,,,10u,122,,,90,,50m,,,memory
1N4148,diode,,si,620m,1m,,,,8.3n,1,,,75,,200m,500m,,encyclopaedia page; drop typical from memory; limit 1.0 V at 10 mA
1N914,diode,,si,620m,1m,,,,8.3n,1,,,75,,200m,500m,,encyclopaedia page; drop typical from memory; limit 1.0 V at 10 mA
1N5817,diode,,si,450m,1,,,,330u,,1.1,,20,,1,,,memory
BAT46,diode,,si,250m,100u,,,,1.7u,1.8,1.54,,100,,150m,150m,,memory
BAT85,diode,,si,400m,10m,,,,670n,,1.1,,30,,200m,,,memory
`;

const FILE = 'built-in types';

/** The types of our own, for parts whose number is not known. */
export const GENERIC_TYPES: readonly string[] = BUILT_IN.split('\n')
  .slice(1, 9)
  .map((row) => row.slice(0, row.indexOf(',')));

function builtIn(): ReadonlyMap<string, DeviceType> {
  const findings = new FindingList();
  const content = sheetContent({ ...TYPES, file: FILE }, BUILT_IN, findings);
  if (content === undefined || findings.all().length > 0) throw new Error(formatFindings(findings.all()));
  return new Map(content.records.map((record) => [record.type, record]));
}

/** The built-in types by type number. */
export const BUILT_IN_TYPES: ReadonlyMap<string, DeviceType> = builtIn();
