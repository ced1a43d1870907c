//! The order of the functions in a WebAssembly module. Whatever compresses it for the way finds a piece again the more cheaply
//! the nearer it stood before, and the generator of the bindings sorts functions by size: so they are put in an order in
//! which like comes after like. Nothing else changes; the page's modules are 1 to 3 % less to load.

use std::collections::{HashMap, VecDeque};
use std::convert::Infallible;

use wasm_encoder::reencode::{Error, Reencode, utils};
use wasm_encoder::{CodeSection, FunctionSection, Module};
use wasmparser::{CodeSectionReader, FunctionSectionReader, Parser, Payload, TypeRef, WasmFeatures};

use crate::Problem;

/// Two functions are the more alike the more runs of so many bytes they share: two or three instructions.
/// This, and the two numbers below, by trial on the page's own modules; 5 or 7, and half or double of the others, are within 0.3 %.
const RUN: usize = 6;
/// A function is compared with what stood so many bytes before it at most.
const NEAR_BYTES: usize = 4000;
/// So many runs more are counted to each function, so that a very short one, which is soon like anything, waits its turn.
const SHORT: u64 = 100;

/// The same module with its functions in another order.
///
/// # Errors
/// Where it is no module, or what would be made of it is none.
pub fn arranged(module: &[u8]) -> Result<Vec<u8>, Problem> {
    let failed = |error: &dyn std::fmt::Display| format!("no WebAssembly module: {error}");
    let (imported, bodies) = functions(module).map_err(|error| failed(&error))?;
    let order = by_likeness(&bodies);
    let mut place = vec![0; order.len()];
    for (new, &old) in order.iter().enumerate() {
        if let Some(place) = place.get_mut(old) {
            *place = new as u32;
        }
    }
    let mut made = Module::new();
    utils::parse_core_module(&mut Arranger { imported, order, place }, &mut made, Parser::new(0), module)
        .map_err(|error| failed(&error))?;
    let made = made.finish();
    wasmparser::Validator::new_with_features(WasmFeatures::all())
        .validate_all(&made)
        .map_err(|error| failed(&error))?;
    Ok(made)
}

/// How many functions a module imports, and the bytes of each of its own.
fn functions(module: &[u8]) -> wasmparser::Result<(u32, Vec<&[u8]>)> {
    let mut imported = 0;
    let mut bodies = Vec::new();
    for part in Parser::new(0).parse_all(module) {
        match part? {
            Payload::ImportSection(imports) => {
                for import in imports.into_imports() {
                    imported += u32::from(matches!(import?.ty, TypeRef::Func(_)));
                }
            }
            Payload::CodeSectionEntry(body) => bodies.push(module.get(body.range()).unwrap_or_default()),
            _ => {}
        }
    }
    Ok((imported, bodies))
}

/// Beginning with the first, always the one of those left of which the greatest share stands shortly before it.
fn by_likeness(bodies: &[&[u8]]) -> Vec<usize> {
    let mut names: HashMap<&[u8], usize> = HashMap::new();
    let mut runs: Vec<Vec<usize>> = Vec::new();
    for body in bodies {
        let mut of_body = Vec::new();
        for run in body.windows(RUN) {
            let next = names.len();
            of_body.push(*names.entry(run).or_insert(next));
        }
        of_body.sort_unstable();
        of_body.dedup();
        runs.push(of_body);
    }
    let mut users: Vec<Vec<usize>> = vec![Vec::new(); names.len()];
    for (function, of_body) in runs.iter().enumerate() {
        of_body.iter().for_each(|&run| users[run].push(function));
    }

    let mut near: VecDeque<usize> = VecDeque::new();
    let mut near_bytes = 0;
    // How often each run stands near, and how many of a function's runs do.
    let mut standing: Vec<u32> = vec![0; users.len()];
    let mut shared: Vec<u64> = vec![0; bodies.len()];
    let is_liker = |shared: &[u64], one: usize, other: usize| {
        let whole = |function: usize| runs[function].len() as u64 + SHORT;
        shared[one] * whole(other) > shared[other] * whole(one)
    };
    let mut left: Vec<usize> = (0..bodies.len()).collect();
    let mut order = Vec::new();
    while let Some(next) =
        left.iter().copied().reduce(|best, each| if is_liker(&shared, each, best) { each } else { best })
    {
        left.retain(|&each| each != next);
        order.push(next);
        near.push_back(next);
        near_bytes += bodies[next].len();
        for &run in &runs[next] {
            standing[run] += 1;
            if standing[run] == 1 {
                users[run].iter().for_each(|&user| shared[user] += 1);
            }
        }
        while near_bytes > NEAR_BYTES && near.len() > 1 {
            let Some(gone) = near.pop_front() else { break };
            near_bytes -= bodies[gone].len();
            for &run in &runs[gone] {
                standing[run] -= 1;
                if standing[run] == 0 {
                    users[run].iter().for_each(|&user| shared[user] -= 1);
                }
            }
        }
    }
    order
}

/// Writes a module again with its own functions in `order`, each named by its old index; `place` is the way back.
struct Arranger {
    imported: u32,
    order: Vec<usize>,
    place: Vec<u32>,
}

impl Reencode for Arranger {
    type Error = Infallible;

    fn function_index(&mut self, index: u32) -> Result<u32, Error<Infallible>> {
        let own = index.checked_sub(self.imported).and_then(|own| self.place.get(own as usize));
        Ok(own.map_or(index, |place| self.imported + place))
    }

    fn parse_function_section(
        &mut self,
        made: &mut FunctionSection,
        section: FunctionSectionReader<'_>,
    ) -> Result<(), Error<Infallible>> {
        let types: Vec<u32> = section.into_iter().collect::<Result<_, _>>()?;
        for own in self.order.iter().filter_map(|&old| types.get(old)) {
            made.function(*own);
        }
        Ok(())
    }

    fn parse_code_section(
        &mut self,
        made: &mut CodeSection,
        section: CodeSectionReader<'_>,
    ) -> Result<(), Error<Infallible>> {
        let bodies: Vec<_> = section.into_iter().collect::<Result<_, _>>()?;
        let ordered: Vec<_> = self.order.iter().filter_map(|&old| bodies.get(old).cloned()).collect();
        ordered.into_iter().try_for_each(|body| self.parse_function_body(made, body))
    }
}

#[cfg(test)]
mod tests {
    use wasm_encoder::{
        ConstExpr, ElementSection, Elements, EntityType, ExportKind, ExportSection, Function, ImportSection,
        RefType, StartSection, TableSection, TableType, TypeSection,
    };
    use wasmparser::{ElementItems, Operator};

    use super::*;

    const OWN: i64 = 6;

    /// Functions of two kinds in turn; each holds a number of its own and calls the next, the first of all an imported one.
    fn module() -> Vec<u8> {
        let mut types = TypeSection::new();
        types.ty().function([], []);
        let mut imports = ImportSection::new();
        imports.import("a", "b", EntityType::Function(0));
        let (mut functions, mut exports, mut code) =
            (FunctionSection::new(), ExportSection::new(), CodeSection::new());
        for own in 0..OWN {
            functions.function(0);
            exports.export(&format!("f{own}"), ExportKind::Func, own as u32 + 1);
            let mut body = Function::new([]);
            body.instructions().i64_const(own).drop();
            for value in 0..20 {
                if own % 2 == 0 {
                    body.instructions().i64_const(1_000_000 + value).drop();
                } else {
                    body.instructions().f64_const((value as f64).into()).drop();
                }
            }
            body.instructions().call(own as u32).end();
            code.function(&body);
        }
        let mut tables = TableSection::new();
        tables.table(TableType {
            element_type: RefType::FUNCREF,
            table64: false,
            minimum: 2,
            maximum: None,
            shared: false,
        });
        let mut elements = ElementSection::new();
        elements.active(None, &ConstExpr::i32_const(0), Elements::Functions((&[0, 3]).into()));
        let mut made = Module::new();
        made.section(&types).section(&imports).section(&functions).section(&tables).section(&exports);
        made.section(&StartSection { function_index: 2 }).section(&elements).section(&code);
        made.finish()
    }

    /// What a module says of its functions, each by its own number, the imported one by −1.
    struct Said {
        order: Vec<i64>,
        named: Named,
    }

    /// All that names one: each call and who calls, exports, the start, the table.
    #[derive(Debug, PartialEq)]
    struct Named {
        calls: Vec<(i64, i64)>,
        exports: Vec<(String, i64)>,
        start: i64,
        table: Vec<i64>,
    }

    fn said(module: &[u8]) -> Said {
        let (mut numbers, mut calls, mut exports, mut start, mut table) =
            (vec![-1], Vec::new(), Vec::new(), 0, Vec::new());
        for part in Parser::new(0).parse_all(module) {
            match part.unwrap() {
                Payload::ExportSection(section) => {
                    exports = section.into_iter().map(Result::unwrap).collect();
                }
                Payload::StartSection { func, .. } => start = func,
                Payload::ElementSection(section) => {
                    for element in section {
                        let ElementItems::Functions(items) = element.unwrap().items else {
                            panic!("other items")
                        };
                        table.extend(items.into_iter().map(Result::unwrap));
                    }
                }
                Payload::CodeSectionEntry(body) => {
                    let operators: Vec<_> =
                        body.get_operators_reader().unwrap().into_iter().map(Result::unwrap).collect();
                    let [Operator::I64Const { value }, ..] = operators[..] else { panic!("no number") };
                    numbers.push(value);
                    calls.extend(operators.iter().filter_map(|operator| match operator {
                        Operator::Call { function_index } => Some((value, *function_index)),
                        _ => None,
                    }));
                }
                _ => {}
            }
        }
        let number = |index: u32| numbers[index as usize];
        let mut calls: Vec<_> = calls.into_iter().map(|(by, of)| (by, number(of))).collect();
        calls.sort_unstable();
        let exports = exports.iter().map(|export| (export.name.to_owned(), number(export.index))).collect();
        let table = table.into_iter().map(number).collect();
        let named = Named { calls, exports, start: number(start), table };
        Said { order: numbers, named }
    }

    #[test]
    fn like_functions_stand_together_and_all_that_names_one_still_does() {
        let before = module();
        let after = arranged(&before).unwrap();
        let (before, after) = (said(&before), said(&after));
        assert_eq!(before.order, [-1, 0, 1, 2, 3, 4, 5]);
        let odd: Vec<i64> = after.order.iter().skip(1).map(|number| number % 2).collect();
        assert_eq!(odd, [0, 0, 0, 1, 1, 1], "{:?}", after.order);
        assert_eq!(before.named, after.named);
    }

    #[test]
    fn order_names_every_function_once() {
        let bodies: Vec<Vec<u8>> =
            (0..40_u8).map(|of| (0..of).map(|at| at.wrapping_mul(of % 7)).collect()).collect();
        let bodies: Vec<&[u8]> = bodies.iter().map(Vec::as_slice).collect();
        let mut order = by_likeness(&bodies);
        order.sort_unstable();
        assert_eq!(order, (0..40).collect::<Vec<_>>());
        assert!(by_likeness(&[]).is_empty());
    }

    #[test]
    fn what_is_no_module_is_refused() {
        assert!(arranged(b"\0asm").is_err() && arranged(b"no module at all").is_err());
        let whole = module();
        assert!(arranged(whole.get(..whole.len() - 3).unwrap()).is_err());
    }
}
