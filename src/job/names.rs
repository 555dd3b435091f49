//! The names that a job gives to parts of the drawing: each has to stand for something there.

use std::collections::BTreeSet;
use std::fmt;

use super::JobFile;

/// What a name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NameKind {
    /// A layer, by its name without case.
    Layer,
    /// A contour, by its number.
    Contour,
    /// A linetype, by its name without case.
    Linetype,
    /// A colour, by its number.
    Color,
}

impl NameKind {
    /// Returns the word for one of them.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Layer => "layer",
            Self::Contour => "contour",
            Self::Linetype => "linetype",
            Self::Color => "colour",
        }
    }
}

/// A name as a job gives it.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct GivenName {
    /// What it names.
    pub kind: NameKind,
    /// As written.
    pub written: String,
}

impl GivenName {
    fn new(kind: NameKind, written: &str) -> Self {
        let written = written.to_owned();
        Self { kind, written }
    }
}

impl fmt::Display for GivenName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.kind {
            NameKind::Contour | NameKind::Color => write!(f, "{} {}", self.kind.word(), self.written),
            NameKind::Layer | NameKind::Linetype => write!(f, "{} `{}`", self.kind.word(), self.written),
        }
    }
}

impl JobFile {
    /// Returns every name that the job gives, once each.
    pub fn names(&self) -> BTreeSet<GivenName> {
        let layers = self
            .layers
            .keys()
            .chain(&self.cut_layers)
            .chain(&self.ignore_layers);
        let named = layers.map(|name| GivenName::new(NameKind::Layer, name));
        let numbered = self.contours.keys().map(|n| GivenName::new(NameKind::Contour, n));
        let linetypes = self
            .linetypes
            .keys()
            .map(|name| GivenName::new(NameKind::Linetype, name));
        let colors = self.colors.keys().map(|n| GivenName::new(NameKind::Color, n));
        named.chain(numbered).chain(linetypes).chain(colors).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_gathered_from_wherever_they_stand() {
        let text = "cut_layers = [\"A\"]\nignore_layers = [\"B\"]\n[layer.C]\nfinish = \"N5\"\n[layer.A]\ntab = \"none\"\n\
                    [contour.3]\nstart_mm = [1, 2]\n[linetype.DOTS]\nuse = \"ignore\"\n[color.7]\nuse = \"ignore\"\n";
        let job = JobFile::parse(text).expect("a sound job");
        let names: Vec<String> = job.names().iter().map(ToString::to_string).collect();
        let all = [
            "layer `A`",
            "layer `B`",
            "layer `C`",
            "contour 3",
            "linetype `DOTS`",
            "colour 7",
        ];
        assert_eq!(names, all);
    }
}
