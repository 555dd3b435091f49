use super::{Check, CheckedGroup, Sink, Stage, Subject};
use crate::contour::{Contour, Role};
use crate::finding::{Finding, Quantity, Severity};
use crate::job::Scope;
use crate::message::{message, mm, um};
use crate::tolerance::PATH_MM;
use crate::units::UM_PER_MM;

/// Limits off the middle on a contour that has sizes of both kinds.
pub(super) const CHECK: Check = Check {
    name: "one-sided-limits",
    title: "limits to one side",
    stage: Stage::Path,
    severity: Severity::Warning,
    looks_for: "Size limits that do not lie even about the drawn size, on a contour that has both kinds of size: a part \
                with a slot that runs into it, an opening with a tongue that stands into it.",
    why: "The middle of the limits is reached by moving every wall of the contour into its material. Outside sizes become \
          smaller by that, inside sizes larger: what brings one to the middle of its limits takes the other away from the \
          drawn size.",
    what_to_do: "Look which sizes the limits are for. Draw the others so that they come out right with this shift, or draw \
                 every size at the middle of its own limits and give even limits.",
    options: "",
    run,
};

fn run(subject: &Subject<'_>, sink: &mut Sink) {
    for group in &subject.groups {
        let off_middle = |(limits, scope): (crate::units::Limits, Scope)| {
            scope == Scope::OnSize && limits.middle_mm().abs() > PATH_MM
        };
        if group.aim_mm.abs() <= PATH_MM / 2.0 || !group.limits.is_some_and(off_middle) {
            continue;
        }
        let contours = group.contours.iter().filter_map(|id| subject.contours.get(*id));
        for contour in contours {
            report(group, contour, sink);
        }
    }
}

fn report(group: &CheckedGroup<'_>, contour: &Contour, sink: &mut Sink) {
    let (Some(width), Some((limits, _))) = (contour.reverse_width(), group.limits) else {
        return;
    };
    let (own, other, own_grows) = match contour.role {
        Role::Outside => ("outside", "slot", false),
        Role::Opening => ("inside", "tongue", true),
        Role::Open => return,
    };
    let shift_um = 2.0 * group.aim_mm * UM_PER_MM;
    let change = |grows: bool| {
        if grows == (shift_um > 0.0) {
            "larger"
        } else {
            "smaller"
        }
    };
    sink.push(|| {
        let message = message!(
            "limits {} to {}: {} sizes come out {} {} than drawn, the {} of {} here {} {}",
            um(tidy(limits.lower_mm)).signed().bare(),
            um(tidy(limits.upper_mm)).signed(),
            own,
            um(shift_um.abs()).fixed(2),
            change(own_grows),
            other,
            mm(width.width_mm).fixed(3),
            um(shift_um.abs()).fixed(2),
            change(!own_grows)
        );
        Finding::new(CHECK.name, CHECK.severity, message, CHECK.remedy())
            .at(width.from)
            .on_contour(contour.id)
            .measured(Quantity::mm(width.width_mm))
    });
}

/// A deviation in µm to a hundredth, without the noise of the conversion and without a negative zero.
fn tidy(deviation_mm: f64) -> f64 {
    (deviation_mm * UM_PER_MM * 100.0).round() / 100.0 + 0.0
}
