//! Makes a job in code: what every plan needs, then whatever else is asked for.

use super::{DrawingSize, JobFile, JobPart, JobPurpose, Purpose};

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

    /// Sets the drawing, relative to the job file.
    pub fn drawing(mut self, drawing: impl Into<String>) -> Self {
        self.drawing = Some(drawing.into());
        self
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

    /// Sets what it is for.
    pub fn purpose(mut self, purpose: Purpose) -> Self {
        self.purpose = Some(purpose);
        self
    }
}
