//! Makes a job in code: what every plan needs, then whatever else is asked for.

use super::{
    DrawingSize, JobFile, JobPart, JobPurpose, LeadShape, Nozzles, OffsetBasis, Prefer, Purpose, Side,
    SlugPolicy, StartFrom, Stops, TabFace,
};

impl JobFile {
    /// Makes a job for work of this material (a name of the book) and thickness, mm, that asks for nothing else.
    ///
    /// ```
    /// use kerfwright::{JobFile, JobPart, types::Purpose};
    ///
    /// let job = JobFile::new("tool-steel", 20.0)
    ///     .finish("Ra 0.8")
    ///     .layer("SCREWS", JobPart::new().purpose(Purpose::Existing));
    /// let text = "material = \"tool-steel\"\nthickness_mm = 20\nfinish = \"Ra 0.8\"\n[layer.SCREWS]\nuse = \"existing\"";
    /// assert_eq!(job, JobFile::parse(text)?);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(material: impl Into<String>, thickness_mm: f64) -> Self {
        Self::default().material(material).thickness_mm(thickness_mm)
    }

    /// Sets the middles of start holes that the drawing does not show, mm.
    pub fn start_holes_mm(mut self, holes_mm: Vec<[f64; 2]>) -> Self {
        self.start_holes_mm = holes_mm;
        self
    }

    /// Sets the layers that are cut.
    pub fn cut_layers<T: Into<String>>(mut self, names: impl IntoIterator<Item = T>) -> Self {
        self.cut_layers = names.into_iter().map(T::into).collect();
        self
    }

    /// Sets the layers that are left out.
    pub fn ignore_layers<T: Into<String>>(mut self, names: impl IntoIterator<Item = T>) -> Self {
        self.ignore_layers = names.into_iter().map(T::into).collect();
        self
    }

    /// Sets how large a drawing is taken.
    pub fn largest(mut self, largest: DrawingSize) -> Self {
        self.largest = largest;
        self
    }

    /// Sets what is asked of a layer.
    pub fn layer(mut self, name: impl Into<String>, part: JobPart) -> Self {
        self.layers.insert(name.into(), part);
        self
    }

    /// Sets what is asked of a contour, by its number as an inspection counts it.
    pub fn contour(mut self, number: usize, part: JobPart) -> Self {
        self.contours.insert(number.to_string(), part);
        self
    }

    /// Sets what the curves of a linetype are for.
    pub fn linetype(mut self, name: impl Into<String>, purpose: Purpose) -> Self {
        self.linetypes.insert(name.into(), JobPurpose { purpose });
        self
    }

    /// Sets what the curves of a colour are for, by its number in the drawing.
    pub fn color(mut self, number: i32, purpose: Purpose) -> Self {
        self.colors.insert(number.to_string(), JobPurpose { purpose });
        self
    }
}

impl JobPart {
    /// Makes a part that asks for nothing.
    pub fn new() -> Self {
        Self::default()
    }
}

/// Writes the setters of keys that may be absent.
macro_rules! setters {
    ($job:ident: $($key:ident: $value:ty),+ $(,)?) => {
        impl $job {
            $(
                #[doc = concat!("Sets [`", stringify!($job), "::", stringify!($key), "`](field@", stringify!($job), "::", stringify!($key), ").")]
                pub fn $key(mut self, $key: impl Into<$value>) -> Self {
                    self.$key = Some($key.into());
                    self
                }
            )+
        }
    };
}

setters!(
    JobFile:
    drawing: String,
    material: String,
    thickness_mm: f64,
    wire_mm: f64,
    wire_kind: String,
    machine: String,
    nozzles: Nozzles,
    prefer: Prefer,
    quantity: usize,
    pieces_per_load: usize,
    pickup_mm: f64,
    offset: OffsetBasis,
    room_swing_k: f64,
    taper_deg: f64,
    land_mm: f64,
    blank_mm: [f64; 2],
    margin_mm: f64,
    clamp: Side,
    clamp_depth_mm: f64,
    tab: String,
    slug: SlugPolicy,
    tab_face: TabFace,
    lead: LeadShape,
    overlap_mm: f64,
    drill_mm: f64,
    start: StartFrom,
    start_holes_under_mm: f64,
    sharp_corners: f64,
    stops: Stops,
    units: String,
    fit_mm: f64,
    join_mm: f64,
    refit_mm: f64,
    assume_sides: bool,
    finish: String,
    tolerance: String,
    passes: usize,
    inside_radius_mm: f64,
    clearance_mm: f64,
    aim_mm: f64,
);

setters!(
    JobPart:
    purpose: Purpose,
    start: StartFrom,
    start_mm: [f64; 2],
    entry_mm: [f64; 2],
    lead: LeadShape,
    overlap_mm: f64,
    tab: String,
    tab_at_mm: [f64; 2],
    slug: SlugPolicy,
    tab_face: TabFace,
    finish: String,
    tolerance: String,
    passes: usize,
    inside_radius_mm: f64,
    clearance_mm: f64,
    aim_mm: f64,
);
