//! Compiles all mutants of some files into one build: mutant `N` runs when `MUTANT=N` stands in the environment.
//!
//!     kerfwright-mutants LIST.json CRATE COPY DROPPED.json
//!
//! `LIST.json` is what `cargo mutants --list --json` prints, a mutant's number its place there; those of `DROPPED.json`, a list of
//! numbers, are left out, since the compiler refuses them. The files of `CRATE` that hold mutants are written into `COPY`. Prints the
//! numbers of the mutants for which no place was found.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::{env, fs};

use proc_macro2::{LineColumn, Span};
use quote::ToTokens;
use serde_json::Value;
use syn::spanned::Spanned;
use syn::visit_mut::{self, VisitMut};
use syn::{Arm, BinOp, Block, Expr, ExprLit, ItemConst, ItemStatic, Lit, Signature, parse_quote};

const MODULE: &str = "//! Which mutant runs.

/// Returns its number; the largest of all where none runs.
pub fn on() -> u32 {
    static ON: std::sync::LazyLock<u32> =
        std::sync::LazyLock::new(|| std::env::var(\"MUTANT\").map_or(u32::MAX, |n| n.parse().unwrap()));
    *ON
}
";

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let [list, root, copy, dropped] = &env::args().skip(1).collect::<Vec<_>>()[..] else {
        return Err("wanted: LIST.json CRATE COPY DROPPED.json".into());
    };
    let list: Vec<Value> = serde_json::from_str(&fs::read_to_string(list)?)?;
    let dropped: BTreeSet<u32> = serde_json::from_str(&fs::read_to_string(dropped)?)?;
    let mut files: BTreeMap<&str, Rewriting> = BTreeMap::new();
    for (mutant, number) in list.iter().zip(0u32..) {
        let file = files.entry(mutant["file"].as_str().ok_or("no file")?).or_default();
        if !dropped.contains(&number) {
            let start = &mutant["span"]["start"];
            let place = |key: &str| start[key].as_u64().unwrap_or_default() as usize;
            let replacement = mutant["replacement"].as_str().unwrap_or_default().to_owned();
            let genre = mutant["genre"].as_str().unwrap_or_default().to_owned();
            let at = (place("line"), place("column"));
            file.mutants.entry(at).or_default().push((number, genre, replacement));
        }
    }
    let (root, copy) = (Path::new(root), Path::new(copy));
    for (name, mut rewriting) in files {
        let mut file = syn::parse_file(&fs::read_to_string(root.join(name))?)?;
        rewriting.visit_file_mut(&mut file);
        write(&copy.join(name), &prettyplease::unparse(&file))?;
        for (number, ..) in rewriting.mutants.values().flatten() {
            println!("{number}");
        }
    }
    let main = fs::read_to_string(root.join("src/lib.rs"))?;
    write(&copy.join("src/lib.rs"), &(main + "\n#[doc(hidden)]\npub mod mutant;\n"))?;
    write(&copy.join("src/mutant.rs"), MODULE)?;
    Ok(())
}

/// Leaves a file alone that is so already, so that nothing is built again.
fn write(path: &Path, text: &str) -> std::io::Result<()> {
    if fs::read_to_string(path).is_ok_and(|old| old == text) {
        return Ok(());
    }
    fs::write(path, text)
}

/// Number, genre and replacement.
type Mutant = (u32, String, String);

/// Mutants of a file by line and column, both from 1, until their place is found.
#[derive(Default)]
struct Rewriting {
    mutants: BTreeMap<(usize, usize), Vec<Mutant>>,
}

impl Rewriting {
    /// Takes the mutants of these genres out that begin where `span` does.
    fn take(&mut self, span: Span, genres: &[&str]) -> Vec<Mutant> {
        let LineColumn { line, column } = span.start();
        let Some(here) = self.mutants.get_mut(&(line, column + 1)) else { return Vec::new() };
        here.extract_if(.., |(_, genre, _)| genres.contains(&genre.as_str())).collect()
    }

    /// Values that stand for a whole body: returned before it begins. Such a function is no longer `const`.
    fn body(&mut self, signature: &mut Signature, block: &mut Block) {
        let opaque = signature.output.to_token_stream().to_string().contains("impl ");
        if let Some(first) = block.stmts.first().filter(|_| !opaque) {
            for (number, _, value) in self.take(first.span(), &["FnValue"]) {
                let number = literal(number);
                let value: Expr = syn::parse_str(&value).expect("a value is an expression");
                block.stmts.insert(0, parse_quote!(if crate::mutant::on() == #number { return #value; }));
                signature.constness = None;
            }
        }
        visit_mut::visit_block_mut(self, block);
    }

    /// The mutants of an expression itself, each with what stands in its place.
    fn of_expression(&mut self, original: &Expr) -> Vec<(u32, Expr)> {
        let mut all = Vec::new();
        match original {
            Expr::Binary(binary) if !binds(original) => {
                for (number, _, operator) in self.take(binary.op.span(), &["BinaryOperator"]) {
                    let mut other = binary.clone();
                    other.op = syn::parse_str::<BinOp>(&operator).expect("an operator");
                    // As written, whatever binds closer.
                    other.left = parenthesised(&other.left);
                    other.right = parenthesised(&other.right);
                    all.push((number, other.into()));
                }
            }
            Expr::Unary(unary) => {
                for (number, ..) in self.take(unary.op.span(), &["UnaryOperator"]) {
                    all.push((number, (*unary.expr).clone()));
                }
            }
            Expr::Struct(value) => {
                for (i, field) in value.fields.iter().enumerate() {
                    for (number, ..) in self.take(field.span(), &["StructField"]) {
                        let mut other = value.clone();
                        let fields = value.fields.iter().enumerate().filter(|(k, _)| *k != i);
                        other.fields = fields.map(|(_, field)| field.clone()).collect();
                        all.push((number, other.into()));
                    }
                }
            }
            _ => {}
        }
        all
    }
}

impl VisitMut for Rewriting {
    fn visit_item_fn_mut(&mut self, item: &mut syn::ItemFn) {
        self.body(&mut item.sig, &mut item.block);
    }

    fn visit_impl_item_fn_mut(&mut self, item: &mut syn::ImplItemFn) {
        self.body(&mut item.sig, &mut item.block);
    }

    /// Only the mutated copies of an expression hold it as it was: of two mutants one runs at a time.
    fn visit_expr_mut(&mut self, expression: &mut Expr) {
        let mutants = self.of_expression(expression);
        visit_mut::visit_expr_mut(self, expression);
        choose(expression, mutants);
    }

    fn visit_arm_mut(&mut self, arm: &mut Arm) {
        let deleted = self.take(arm.span(), &["MatchArm"]);
        let mut guards = Vec::new();
        if let Some((_, guard)) = &arm.guard {
            for (number, _, value) in self.take(guard.span(), &["MatchArmGuard"]) {
                guards.push((number, syn::parse_str(&value).expect("a truth value")));
            }
        }
        visit_mut::visit_arm_mut(self, arm);
        if let Some((_, guard)) = &mut arm.guard {
            choose(guard, guards);
        }
        for (number, ..) in deleted {
            let number = literal(number);
            let kept: Expr = parse_quote!(crate::mutant::on() != #number);
            let guard = match arm.guard.take() {
                Some((_, guard)) => parse_quote!(#kept && #guard),
                None => kept,
            };
            arm.guard = Some((Default::default(), Box::new(guard)));
        }
    }

    // What is computed by the compiler cannot ask which mutant runs.
    fn visit_item_const_mut(&mut self, _: &mut ItemConst) {}
    fn visit_impl_item_const_mut(&mut self, _: &mut syn::ImplItemConst) {}
    fn visit_item_static_mut(&mut self, _: &mut ItemStatic) {}
    fn visit_type_mut(&mut self, _: &mut syn::Type) {}
    fn visit_pat_mut(&mut self, _: &mut syn::Pat) {}
}

fn choose(expression: &mut Expr, mutants: Vec<(u32, Expr)>) {
    if !mutants.is_empty() {
        let arms = mutants.into_iter().map(|(number, value)| -> Arm {
            let (number, value) = (literal(number), parenthesised(&value));
            parse_quote!(#number => #value,)
        });
        let original = parenthesised(expression);
        *expression = parse_quote!((match crate::mutant::on() { #(#arms)* _ => #original }));
    }
}

/// Whether an expression is a chain of conditions that binds names.
fn binds(expression: &Expr) -> bool {
    match expression {
        Expr::Let(_) => true,
        Expr::Binary(binary) => {
            matches!(binary.op, BinOp::And(_)) && (binds(&binary.left) || binds(&binary.right))
        }
        _ => false,
    }
}

fn parenthesised(expression: &Expr) -> Box<Expr> {
    match expression {
        Expr::Binary(_) | Expr::Cast(_) | Expr::If(_) => parse_quote!((#expression)),
        _ => Box::new(expression.clone()),
    }
}

/// A number of a mutant, written so that it is found again in the file.
fn literal(number: u32) -> Expr {
    let literal = Lit::new(format!("{number}_u32").parse().expect("a literal"));
    ExprLit { attrs: Vec::new(), lit: literal }.into()
}
