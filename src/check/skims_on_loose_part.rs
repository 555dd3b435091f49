use super::{Check, Sink, Stage, Subject, counted};
use crate::finding::{Finding, Quantity, Severity};
use crate::message::{message, um_of_mm};

/// Parts that would be skimmed loose.
pub(super) const CHECK: Check = Check {
    name: "skims-on-loose-part",
    title: "skims on a loose part",
    stage: Stage::Path,
    severity: Severity::Error,
    looks_for: "Parts without a tab (`--tabs none`) that are to be cut in more than one pass.",
    why: "Without a tab the part drops when its rough cut closes. What is loose cannot be skimmed: it tilts, shorts the \
          wire, and its wall is not where the path takes it to be. So the skims are not run, and the wall keeps the \
          finish and the stock of the rough cut.",
    what_to_do: "Allow a tab: for all parts, or for this one alone. Or cut it in one pass.",
    options: "without `--tabs none`, `tab` of its layer or contour in the job file, or `--passes 1`",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    let Some(process) = subject.process else { return };
    for part in &process.not_skimmed {
        let mut pieces = process
            .separations
            .iter()
            .filter(|s| s.piece.contour == part.contour);
        let stretch = pieces.find_map(|separation| separation.last_stretch());
        sink.push(|| {
            let message = message!(
                "without a tab the part is loose when its rough cut closes: its {} not run, and {} of stock stay on \
                 its wall",
                match part.skims {
                    1 => "skim is".to_owned(),
                    skims => format!("{} are", counted(skims, "skim")),
                },
                um_of_mm(part.stock_mm).fixed(1)
            );
            let mut finding = Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
                .on_contour(part.contour)
                .measured(Quantity::mm(part.stock_mm))
                .limit(Quantity::mm(0.0));
            finding.at = stretch.map(|stretch| stretch.at);
            finding
        });
    }
}
