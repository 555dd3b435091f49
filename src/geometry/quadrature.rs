//! Integrals of smooth functions, for lengths that have no closed form.

/// Abscissae of the 15-point Kronrod rule on −1…1, positive half, outermost first; every second one, from the
/// second, belongs to the 7-point Gauss rule. (R. Piessens et al., QUADPACK, Springer 1983, routine QK15.)
const KRONROD_AT: [f64; 8] = [
    0.991_455_371_120_812_6,
    0.949_107_912_342_758_5,
    0.864_864_423_359_769_1,
    0.741_531_185_599_394_4,
    0.586_087_235_467_691_1,
    0.405_845_151_377_397_2,
    0.207_784_955_007_898_47,
    0.0,
];

/// Weights of the 15-point Kronrod rule.
const KRONROD_WEIGHT: [f64; 8] = [
    0.022_935_322_010_529_224,
    0.063_092_092_629_978_56,
    0.104_790_010_322_250_18,
    0.140_653_259_715_525_92,
    0.169_004_726_639_267_9,
    0.190_350_578_064_785_4,
    0.204_432_940_075_298_9,
    0.209_482_141_084_727_82,
];

/// Weights of the 7-point Gauss rule.
const GAUSS_WEIGHT: [f64; 4] = [
    0.129_484_966_168_869_7,
    0.279_705_391_489_276_64,
    0.381_830_050_505_118_9,
    0.417_959_183_673_469_4,
];

/// Intervals are halved at most so often: enough for a corner in the integrand to lose all weight.
const MOST_HALVINGS: u32 = 48;

/// In all, an integral is cut into at most so many intervals, so that no function can hold it up.
const MOST_INTERVALS: usize = 4096;

/// Integral of `f`, which must not be negative, over `from..to`, to `relative` of its value where `f` allows
/// it: adaptive halving with the Gauss–Kronrod pair of 7 and 15 points. A smooth `f` costs 15 to a few
/// hundred evaluations; a corner in `f` about 30 for each bit of accuracy.
pub fn integrate(f: impl Fn(f64) -> f64, from: f64, to: f64, relative: f64) -> f64 {
    let (whole, _) = kronrod(&f, from, to);
    let mut open = vec![(from, to, 0)];
    let mut sum = 0.0;
    let mut intervals = 0;
    while let Some((a, b, halvings)) = open.pop() {
        let (value, error) = kronrod(&f, a, b);
        intervals += 1;
        let settled = error <= relative * whole.max(sum + value);
        if settled || halvings >= MOST_HALVINGS || intervals >= MOST_INTERVALS {
            sum += value;
        } else {
            let middle = 0.5 * (a + b);
            open.push((middle, b, halvings + 1));
            open.push((a, middle, halvings + 1));
        }
    }
    sum
}

/// Computes the Kronrod value over `from..to`, and how far the Gauss value lies from it.
fn kronrod(f: impl Fn(f64) -> f64, from: f64, to: f64) -> (f64, f64) {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    let at_middle = f(middle);
    let mut kronrod = KRONROD_WEIGHT[7] * at_middle;
    let mut gauss = GAUSS_WEIGHT[3] * at_middle;
    for i in 0..7 {
        let reach = half * KRONROD_AT[i];
        let both = f(middle - reach) + f(middle + reach);
        kronrod += KRONROD_WEIGHT[i] * both;
        if i % 2 == 1 {
            gauss += GAUSS_WEIGHT[i / 2] * both;
        }
    }
    (kronrod * half, ((kronrod - gauss) * half).abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn powers_are_integrated_in_closed_form() {
        for power in 0..=22 {
            let value = integrate(|x| x.powi(power), 0.0, 2.0, 1e-13);
            let exact = 2f64.powi(power + 1) / f64::from(power + 1);
            assert!(
                (value / exact - 1.0).abs() < 1e-14,
                "power {power}: {value} is not {exact}"
            );
        }
    }

    #[test]
    fn a_corner_is_found() {
        let value = integrate(|x: f64| (x - 0.3).abs(), 0.0, 1.0, 1e-13);
        assert!((value - 0.29).abs() < 1e-13, "{value}");
    }

    #[test]
    fn an_integrand_that_never_settles_ends() {
        assert!(integrate(|_| f64::NAN, 0.0, 1.0, 1e-13).is_nan());
        assert!(integrate(|x: f64| 1.0 / x, 0.0, 1.0, 1e-13) > 1.0);
    }
}
