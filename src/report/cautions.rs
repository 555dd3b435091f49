//! What can hurt.

/// What every output that can reach the machine says; common practice.
pub(super) const IN_SHORT: [&str; 5] = [
    "Wire and table carry a voltage that can kill.",
    "Pieces drop: stop, power off, secure them.",
    "Paths are the wire's centre: machine compensation OFF.",
    "Model offsets: cut and gauge a test piece first.",
    "The machine's manual, local codes and licensed practice come first.",
];

/// General cautions; common practice.
pub(super) const CAUTIONS: [&str; 7] = [
    "The offsets, gaps, feeds and times are a model's. Cut and gauge a test piece in this material, with this wire, on \
     this machine, before the part.",
    "The exported path is the wire's centre. With the machine's own compensation switched on it would be offset twice.",
    "Wire and table carry a voltage that can kill. Work with guards closed; leave work on the power supply to licensed \
     electricians.",
    "With an oil dielectric keep the work submerged, the level control working and a fire watch. Never cut with open \
     nozzles in oil. Fines of aluminium, titanium and magnesium give off hydrogen or burn; so can dry filters.",
    "A piece that drops can tilt, fall or short the wire. Know its mass. Stop before each separation, power off, secure the \
     piece with clamp or shim, or magnet (magnetic steel only), and keep hands out while the wire runs. Use a lifting aid \
     above what one person should lift.",
    "Wire and scrap are sharp, running wire and rollers catch fingers. Wear eye and skin protection; dielectric, resin and \
     sludge follow the waste rules, those of cobalt and nickel above all.",
    "A check that finds nothing has found nothing; it does not say that the job is right. A surface or layer band is no \
     acceptance. The machine's manual, local codes and licensed practice come first.",
];

#[cfg(test)]
mod tests {
    use super::IN_SHORT;
    use crate::message::Lengths;
    use crate::plan::Alternatives;
    use crate::report::{Coverage, html, json, sample, svg, terminal};

    #[test]
    fn whatever_reaches_the_machine_bears_the_cautions() {
        let plan = sample::plan();
        let alternatives = Alternatives {
            candidates: Vec::new(),
            day: None,
        };
        let job_sheet = html::plan(&plan, &alternatives);
        let (first, _) = job_sheet
            .split_once("id=\"job-asked\"")
            .expect("the requirements come after");
        let outputs = [
            ("terminal", terminal::plan(&plan, Coverage::Head, Lengths::Mm)),
            ("sheet", svg::plan(&plan)),
            ("job sheet", first.to_owned()),
            ("JSON", json::plan(&plan)),
        ];
        for (output, text) in outputs {
            for caution in IN_SHORT {
                assert!(text.contains(caution), "{output}: {caution}");
            }
        }
    }
}
