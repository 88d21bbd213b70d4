// What the page hands to its scripts: shapes of the JSON that Python writes.

interface Origin { x: number; y: number; scale: number; lat: number; lon: number }
interface PackedLines { starts: string; points: string; unit: number }
interface PlacedPicture { uri: string; box: [number, number, number, number] }
interface Thing {
  kind: string; name: string; said: string; form: "area" | "line" | "point";
  lines: PackedLines; crowns?: string; evergreen?: boolean;
  card?: string[]; // what it says of itself when it is touched
}
interface SceneBeds {
  starts: string; points: string; plots: string; names: string[];
  wider: string; hoops: PackedLines; lengths: string[];
}
interface SceneContours {
  lines: PackedLines; heights: string; finest_m: number; per_unit: number;
  steps: [number, number][]; slope: number;
}
interface AirLevel { spacing_m: number; lines: PackedLines; strengths: number[] }
type LookName = "day" | "bright" | "night" | "print";
interface LookColours {
  paper: string; ground_low: string; ground_high: string; relief: number; inside: string;
  bed: string; bed_line: string; ink: string; soft: string; contour: string; height: string;
  over: string; downhill: string; water: string; water_ink: string; hedge: string;
  hedge_ink: string; tree: string; tree_ink: string; track: string; roof: string; wire: string;
  growing: string; plant: string; dot: string; cover_now: string; done: string;
}
interface Scene {
  frame: Origin; ground: PlacedPicture; contours: SceneContours;
  downhill: { east: number; north: number; said: string[] } | null;
  things: Thing[]; plots: Thing[]; tunnels: Thing[]; beds: SceneBeds; air: AirLevel[];
  pegs: string; sets: Record<string, Thing[]>; view: [number, number, number, number];
  units: "metric" | "us";
  looks: Record<LookName, { colours: LookColours; ramps: Record<string, string[]> }>;
  say: Record<string, string>;
}

// What a question shows.
type Codes = string | ArrayLike<number>;
interface RampBeds { kind: "ramp"; ramp: string; codes: Codes }
interface PatternBeds { kind: "pattern"; names: string[]; codes: Codes }
interface PlainBeds { kind: "plain" }
interface FieldPicture extends PlacedPicture { edge: number[] } // where what is worked out ends
interface GroundField { picture: FieldPicture; ramp: string; lines: PackedLines; said: string[] }
interface Picture {
  key: string;
  beds: RampBeds | PatternBeds | PlainBeds;
  ground?: GroundField | null;
  extras?: string[];
  plots?: { name: string; sub?: string }[];
  outlined?: number[];
  named?: number[]; // beds that the answer names
  numbered?: { bed: number; n: number; done?: boolean; example?: boolean }[];
  callouts?: Callout[];
}
interface Callout { // of a run of beds, or of beds inside a tunnel, by its name
  beds: number[]; tunnel?: string; size?: number; text: string; sub?: string; first?: boolean;
}
interface FieldThing {
  kind: "bed" | "tunnel" | "thing" | "plot" | "spot"; index: number; name: string;
  latlng?: { lat: number; lng: number }; // of bare ground, which has no more
}
interface FieldWords { text: string; box: PixelBox; to?: Point } // `to`: where their line ends
interface FieldChoices {
  describe?: (thing: FieldThing) => string;
  isAsleep?: boolean; // nothing is painted until `wake`
  said?: string[][]; // what any picture says of each plot: its name leaves room for it
}
interface Insets { left: number; top: number; right: number; bottom: number }
interface FieldPlace { lat: number; lng: number; accuracy_m: number }
interface PixelBox { left: number; top: number; right: number; bottom: number }

// What the files of the drawing know of each other.
type FieldView = InstanceType<typeof fieldFrame.View>;
type FieldPalette = InstanceType<typeof fieldPalette.Palette>;
interface FieldBrush {
  ctx: CanvasRenderingContext2D; view: FieldView; palette: FieldPalette; colours: LookColours;
}
interface FieldShape {
  kind: string; name: string; said: string; form: "area" | "line" | "point"; evergreen: boolean;
  card?: string[];
  rings: Float32Array[]; box: Box; path: Path2D; crowns: Float32Array | null; wide: number;
}
type Box = [number, number, number, number]; // west, south, east, north [m]
interface FieldLines { points: Float32Array[]; said: string[] }
interface FieldSheet extends FieldBrush {
  labels: InstanceType<typeof fieldLabels.Labels>;
  scene: {
    beds: InstanceType<typeof fieldBeds.Beds>;
    things: InstanceType<typeof fieldThings.Things>;
    ground: InstanceType<typeof fieldGround.Ground>;
    downhill: Scene["downhill"];
    solid: FieldShape[]; // all that stands but wires
    wires: FieldShape[];
    compact: FieldShape[]; // of what is solid all but the long
    around: FieldShape[]; // plots and what is solid
    small: FieldShape[]; // plots and what is compact
    words: { say: Record<string, string>; height: (height: number) => string };
  };
}
interface Point { x: number; y: number }
interface LabelPlace { left: number; top: number; align: CanvasTextAlign }
interface LabelLine { text: string; font: string; colour: string; halo?: string }

// What folium's part of the page gives, and what tests look at.
declare const fieldmapParts: { map: L.Map };
interface Window { fieldmap: { map: L.Map; field: any; ask: (key: string, at?: number) => boolean } }
