//! Holds a DXF file, entity by entity, in the file's own units and coordinate systems.
//!
//! What the reader guarantees of it:
//! - Every number is finite, and is the `f64` nearest to what the file says.
//! - Nothing in BLOCKS or ENTITIES is dropped in silence: what is of no use to us is a [`Shape::Other`], what was
//!   passed over or mended is a [`Notice`].
//! - Coordinates that an entity cannot do without were there. Radii, scales, counts and directions are as
//!   written, even where they make no sense (zero, negative): `drawing` judges them.
//! - Every layer and linetype index is valid. Names that differ only in case are one; names are decoded.
//! - A document takes at most 100 bytes of memory for a byte of the file, however odd the file, and less than
//!   one for an ordinary drawing (measured by `cargo bench --bench reading_memory`).

use std::collections::HashMap;

/// A DXF file, read whole.
#[derive(Clone, Debug, Default)]
pub struct Document {
    /// Units, version and code page of the HEADER section.
    pub header: Header,
    /// Every layer declared in the LAYER table or used by an entity; entities refer to it by index.
    pub layers: Vec<Layer>,
    /// Every linetype name used; entities refer to it by index. Index 0 is `ByLayer`.
    pub linetypes: Vec<String>,
    /// The BLOCKS section.
    pub blocks: Vec<Block>,
    /// The ENTITIES section, in order.
    pub entities: Vec<Entity>,
    /// What the reader had to accept or pass over, each with its line.
    pub notices: Vec<Notice>,
}

impl Document {
    /// Returns the blocks by name, for finding the block of an INSERT.
    pub fn block_index(&self) -> BlockIndex {
        let mut by_name = HashMap::with_capacity(self.blocks.len());
        for (index, block) in self.blocks.iter().enumerate() {
            by_name.entry(fold_name(&block.name)).or_insert(index);
        }
        BlockIndex { by_name }
    }
}

/// The blocks of a document by name, without case.
#[derive(Clone, Debug, Default)]
pub struct BlockIndex {
    by_name: HashMap<String, usize>,
}

impl BlockIndex {
    /// Returns the index into [`Document::blocks`] of the block of this name, however its case.
    pub fn find(&self, name: &str) -> Option<usize> {
        self.by_name.get(&fold_name(name)).copied()
    }
}

/// Returns the form in which names of blocks, layers and linetypes are compared: two names that differ only in case
/// are one.
pub fn fold_name(name: &str) -> String {
    name.to_lowercase()
}

/// The HEADER section.
#[derive(Clone, Debug, Default)]
pub struct Header {
    /// `$ACADVER`, such as `AC1027`; empty when absent.
    pub version: String,
    /// `$INSUNITS`, when present.
    pub insunits: Option<i32>,
    /// `$MEASUREMENT` (0 inch, 1 metric), when present.
    pub measurement: Option<i32>,
    /// `$DWGCODEPAGE`, such as `ANSI_1252`; empty when absent.
    pub code_page: String,
    /// Whether the file was binary DXF.
    pub binary: bool,
}

/// A layer.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Layer {
    /// Its decoded name.
    pub name: String,
    /// Switched off (negative colour).
    pub off: bool,
    /// Frozen (flag 1 of group 70).
    pub frozen: bool,
    /// Not plotted (group 290 is 0).
    pub not_plotted: bool,
    /// Its colour number (absolute value of group 62; 7 when absent).
    pub color: i32,
    /// Its linetype name; `Continuous` when absent.
    pub linetype: String,
    /// Whether the LAYER table declares it.
    pub declared: bool,
}

/// A block definition.
#[derive(Clone, Debug, Default)]
pub struct Block {
    /// Its decoded name, as written (compare without case).
    pub name: String,
    /// Base point.
    pub base: [f64; 3],
    /// What it holds.
    pub entities: Vec<Entity>,
    /// Line of the file where it begins.
    pub line: usize,
}

/// One entity.
#[derive(Clone, Debug)]
pub struct Entity {
    /// What it draws.
    pub shape: Shape,
    /// Index into [`Document::layers`].
    pub layer: u32,
    /// Index into [`Document::linetypes`].
    pub linetype: u32,
    /// Colour number: 256 by layer, 0 by block.
    pub color: i32,
    /// Handle; 0 when absent.
    pub handle: u64,
    /// Line of the file that holds its type name (tag index for binary files), counted from 1.
    pub line: usize,
    /// On a paper-space layout.
    pub paper_space: bool,
    /// Marked invisible (group 60).
    pub invisible: bool,
    /// Extrusion direction, as written; 0,0,1 when absent. It turns shapes in object coordinates; of an ELLIPSE it
    /// is the axis about which its parameter runs, of a SPLINE only the normal of its plane.
    pub extrusion: [f64; 3],
}

/// What an entity draws.
#[derive(Clone, Debug)]
pub enum Shape {
    /// LINE, in world coordinates.
    Line {
        /// Start.
        from: [f64; 3],
        /// End.
        to: [f64; 3],
    },
    /// ARC, in object coordinates, counter-clockwise, degrees.
    Arc {
        /// Centre.
        center: [f64; 3],
        /// Radius.
        radius: f64,
        /// Start angle.
        start_deg: f64,
        /// End angle.
        end_deg: f64,
    },
    /// CIRCLE, in object coordinates.
    Circle {
        /// Centre.
        center: [f64; 3],
        /// Radius.
        radius: f64,
    },
    /// LWPOLYLINE, in object coordinates.
    LwPolyline(Box<LwPolyline>),
    /// POLYLINE with its VERTEX entities.
    Polyline(Box<HeavyPolyline>),
    /// ELLIPSE, in world coordinates.
    Ellipse(Box<Ellipse>),
    /// SPLINE, in world coordinates.
    Spline(Box<Spline>),
    /// INSERT, in object coordinates.
    Insert(Box<Insert>),
    /// MLINE, in world coordinates.
    Mline(Box<Mline>),
    /// POINT, in world coordinates.
    Point {
        /// Where it is.
        at: [f64; 3],
    },
    /// TEXT, MTEXT, ATTRIB or ATTDEF: where it stands and what it says.
    Text(Box<Text>),
    /// Anything else: its type name, upper case.
    Other(Box<str>),
}

impl Shape {
    /// Returns the entity's type by the name that the DXF reference gives it.
    pub fn type_name(&self) -> &str {
        match self {
            Self::Text(text) => &text.kind,
            Self::Other(kind) => kind,
            shape => shape.known_type(),
        }
    }

    /// Returns the same, but `TEXT` for every text and `other` for what is not read.
    pub fn known_type(&self) -> &'static str {
        match self {
            Self::Line { .. } => "LINE",
            Self::Arc { .. } => "ARC",
            Self::Circle { .. } => "CIRCLE",
            Self::LwPolyline(_) => "LWPOLYLINE",
            Self::Polyline(_) => "POLYLINE",
            Self::Ellipse(_) => "ELLIPSE",
            Self::Spline(_) => "SPLINE",
            Self::Insert(_) => "INSERT",
            Self::Mline(_) => "MLINE",
            Self::Point { .. } => "POINT",
            Self::Text(_) => "TEXT",
            Self::Other(_) => "other",
        }
    }
}

/// LWPOLYLINE.
#[derive(Clone, Debug, Default)]
pub struct LwPolyline {
    /// `(x, y, bulge)` of each vertex.
    pub vertices: Vec<[f64; 3]>,
    /// Flag 1 of group 70.
    pub closed: bool,
    /// Height above the plane.
    pub elevation: f64,
    /// Count that group 90 declares.
    pub declared_vertices: Option<i64>,
}

/// POLYLINE.
#[derive(Clone, Debug, Default)]
pub struct HeavyPolyline {
    /// Group 70: 1 closed, 2 curve-fit, 4 spline-fit, 8 3D, 16 mesh, 64 polyface.
    pub flags: i32,
    /// Group 30 of the polyline.
    pub elevation: f64,
    /// Its vertices.
    pub vertices: Vec<HeavyVertex>,
}

/// VERTEX.
#[derive(Clone, Copy, Debug, Default)]
pub struct HeavyVertex {
    /// Where it is.
    pub at: [f64; 3],
    /// Bulge of the segment that starts here.
    pub bulge: f64,
    /// Group 70: 1 added by curve fit, 8 added by spline fit, 16 spline control point.
    pub flags: i32,
}

/// ELLIPSE.
#[derive(Clone, Copy, Debug, Default)]
pub struct Ellipse {
    /// Centre.
    pub center: [f64; 3],
    /// End of the major axis, relative to the centre.
    pub major: [f64; 3],
    /// Minor over major.
    pub ratio: f64,
    /// Start parameter, radians.
    pub start_rad: f64,
    /// End parameter, radians.
    pub end_rad: f64,
}

/// SPLINE.
#[derive(Clone, Debug, Default)]
pub struct Spline {
    /// Degree.
    pub degree: i32,
    /// Group 70: 1 closed, 2 periodic, 4 rational, 8 planar, 16 linear.
    pub flags: i32,
    /// Knot vector.
    pub knots: Vec<f64>,
    /// Control points.
    pub control: Vec<[f64; 3]>,
    /// Weights; empty when all are 1.
    pub weights: Vec<f64>,
    /// Fit points.
    pub fit_points: Vec<[f64; 3]>,
    /// Direction at the start, when given.
    pub start_tangent: Option<[f64; 3]>,
    /// Direction at the end, when given.
    pub end_tangent: Option<[f64; 3]>,
    /// Counts that groups 72, 73, 74 declare: knots, control points, fit points.
    pub declared: [Option<i64>; 3],
}

/// INSERT.
#[derive(Clone, Debug)]
pub struct Insert {
    /// Name of the block.
    pub block: String,
    /// Where it goes.
    pub at: [f64; 3],
    /// Scale along x, y, z; 1 when absent.
    pub scale: [f64; 3],
    /// Turn, degrees counter-clockwise.
    pub rotation_deg: f64,
    /// Columns of the array.
    pub columns: i64,
    /// Rows of the array.
    pub rows: i64,
    /// Distance between columns.
    pub column_spacing: f64,
    /// Distance between rows.
    pub row_spacing: f64,
}

/// MLINE.
#[derive(Clone, Debug, Default)]
pub struct Mline {
    /// Flag 2 of group 71.
    pub closed: bool,
    /// For each vertex, the points of its elements (vertex plus mitre direction times the element's first
    /// parameter).
    pub vertices: Vec<Vec<[f64; 3]>>,
    /// Whether breaks (more than one start or stop parameter an element) were declared; such lines are drawn
    /// here without their gaps.
    pub broken: bool,
}

/// TEXT, MTEXT, ATTRIB or ATTDEF.
#[derive(Clone, Debug, Default)]
pub struct Text {
    /// The entity type, upper case.
    pub kind: Box<str>,
    /// Where it stands.
    pub at: [f64; 3],
    /// What it says, decoded.
    pub text: String,
    /// Height of its capitals; 0 where the file states none.
    pub height: f64,
}

/// Something the reader accepted or passed over.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Notice {
    /// Line of the file (tag index for binary files), counted from 1.
    pub line: usize,
    /// Handle of the entity concerned; 0 when none.
    pub handle: u64,
    /// What it was.
    pub kind: NoticeKind,
}

/// The kinds of [`Notice`].
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum NoticeKind {
    /// The file ends without an EOF marker.
    NoEof,
    /// A declared count differs from what is there: entity type, declared, found.
    CountDiffers(&'static str, i64, usize),
    /// A handle stands twice.
    HandleRepeated,
    /// A block name stands twice; the first is kept.
    BlockRepeated(String),
    /// The code page is not known; Windows-1252 was used.
    CodePageUnknown(String),
    /// A text is not valid in the code page of the file (from R2007 on: not UTF-8); it was read in the code
    /// page that the header names beside, or else in Windows-1252.
    TextUndecodable,
    /// A handle is not hexadecimal; the entity goes without.
    HandleUnreadable,
    /// What this names (`SECTION`, `BLOCK`, `POLYLINE`) has no end mark; it ends where the next thing begins.
    EndMissing(&'static str),
    /// A section of this name is not part of DXF; it was passed over.
    SectionUnknown(String),
    /// So many INSERTs are clipped by a boundary; they are read whole.
    ClippingIgnored(usize),
    /// Tags stand between two sections; they were passed over.
    TagsOutsideSection,
    /// The block of this name stands in another file (an external reference): what it draws is missing here.
    BlockElsewhere(String),
    /// The block of model space holds this many entities of its own. They were taken as the drawing when
    /// ENTITIES holds nothing for model space, and left out otherwise.
    ModelSpaceBlock {
        /// How many.
        entities: usize,
        /// Whether they were taken.
        taken: bool,
    },
}
