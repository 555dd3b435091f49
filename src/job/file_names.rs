//! The names that a job file gives to parts of the drawing, and what they are for.

use std::collections::BTreeSet;

use super::file::JobFile;
use super::{GivenName, JobFileError, NameKind, Purpose, Purposes};
use crate::geometry::Point;

impl JobFile {
    /// Every name that the job gives, once, whatever it says of what bears it.
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

    /// What the layers and contours are for.
    pub fn uses(&self) -> Result<Purposes, JobFileError> {
        let mut uses = Purposes {
            cut_layers: self.cut_layers.clone(),
            start_holes_under_mm: self.start_holes_under_mm,
            assume_sides: self.assume_sides.unwrap_or(false),
            ..Purposes::default()
        };
        for layer in &self.ignore_layers {
            uses.layers.insert(layer.to_lowercase(), Purpose::Ignore);
        }
        for (layer, part) in &self.layers {
            if let Some(purpose) = part.purpose {
                uses.layers.insert(layer.to_lowercase(), purpose);
            }
        }
        let purposes = self.of_contours(|part| Ok(part.purpose))?.into_iter();
        uses.contours = purposes
            .filter_map(|(id, purpose)| Some((id, purpose?)))
            .collect();
        let point = |[x, y]: [f64; 2]| Point::new(x, y);
        let keeps = self.of_contours(|part| Ok(part.keep))?.into_iter();
        uses.keeps = keeps.filter_map(|(id, keep)| Some((id, point(keep?)))).collect();
        let keeps = self.layers.iter();
        let keeps = keeps.filter_map(|(layer, part)| Some((layer.to_lowercase(), point(part.keep?))));
        uses.layer_keeps = keeps.collect();
        let widths = self.of_contours(|part| Ok(part.width_mm))?.into_iter();
        uses.widths_mm = widths
            .filter_map(|(id, width_mm)| Some((id, width_mm?)))
            .collect();
        let widths = self.layers.iter();
        let widths = widths.filter_map(|(layer, part)| Some((layer.to_lowercase(), part.width_mm?)));
        uses.layer_widths_mm = widths.collect();
        for (name, of) in &self.linetypes {
            uses.linetypes.insert(name.to_lowercase(), of.purpose);
        }
        for (name, of) in &self.colors {
            let number = name.parse().map_err(|_| JobFileError::Color(name.clone()))?;
            uses.colors.insert(number, of.purpose);
        }
        Ok(uses)
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
