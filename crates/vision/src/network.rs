//! A network from a TensorFlow Lite file, checked as a whole when it is read and run as often as wanted.
//!
//! Only what the face networks are made of is known; anything else is refused by name. Half-precision weights become single ones when they
//! are read. Operators that nobody asked the result of are left out.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use crate::attention::{Rows, Square, brought_back, sampled, square_map};
use crate::flatbuffer::{Table, root};
use crate::flexbuffer::Map;
use crate::half::from_half;
use crate::operators::{Layers, Shape, Window, convolution, deepened, depthwise, largest, sloped};

/// Why a file is no network that can be run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NetworkError {
    /// Not a TensorFlow Lite file, or one that is damaged.
    Damaged,
    /// It has a part that is not known here; named.
    Unknown(String),
    /// A picture of another size was handed in.
    Size,
}

impl fmt::Display for NetworkError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NetworkError::Damaged => f.write_str("the network's file is damaged"),
            NetworkError::Unknown(what) => write!(f, "the network has an unknown part: {what}"),
            NetworkError::Size => f.write_str("the network takes pictures of another size"),
        }
    }
}

impl std::error::Error for NetworkError {}

/// More numbers than any value of these networks has; beyond it a file lies.
const MOST_NUMBERS: usize = 1 << 22;
/// More steps than any of these networks takes: multiplications, added up.
const MOST_WORK: usize = 4_000_000_000;

/// What an operator does.
enum Kind {
    Convolution { weights: usize, bias: usize, window: Window },
    Depthwise { weights: usize, bias: usize, window: Window },
    Largest { window: Window },
    Sloped { slopes: usize },
    Added { other: usize },
    Multiplied { other: usize },
    Deepened,
    Same,
    SquareMap(Square),
    Sampled { map: usize },
    BroughtBack { map: usize },
}

struct Operator {
    kind: Kind,
    input: usize,
    output: usize,
}

/// A network that can be run.
pub struct Network {
    shapes: Vec<Shape>,
    constants: BTreeMap<usize, Vec<f32>>,
    operators: Vec<Operator>,
    /// The operator after which a value is needed no more.
    last_use: Vec<usize>,
    input: usize,
    outputs: Vec<usize>,
}

/// Codes of operators in the file format.
mod code {
    pub const ADD: i32 = 0;
    pub const CONV_2D: i32 = 3;
    pub const DEPTHWISE_CONV_2D: i32 = 4;
    pub const DEQUANTIZE: i32 = 6;
    pub const MAX_POOL_2D: i32 = 17;
    pub const MUL: i32 = 18;
    pub const RESHAPE: i32 = 22;
    pub const CUSTOM: i32 = 32;
    pub const PAD: i32 = 34;
    pub const STRIDED_SLICE: i32 = 45;
    pub const PRELU: i32 = 54;
}

/// Kinds of numbers in the file format.
const SINGLE: u8 = 0;
const HALF: u8 = 1;

/// A value as the file has it.
struct Listed<'a> {
    dims: Vec<usize>,
    kind: u8,
    bytes: &'a [u8],
    name: &'a [u8],
}

fn listed<'a>(tensor: &Table<'a>, buffers: &[Table<'a>]) -> Option<Listed<'a>> {
    let dims: Option<Vec<usize>> = tensor.i32s(0)?.into_iter().map(|dim| usize::try_from(dim).ok()).collect();
    let dims = dims.filter(|dims| dims.len() <= 4)?;
    dims.iter()
        .try_fold(1_usize, |product, dim| product.checked_mul(*dim).filter(|all| *all <= MOST_NUMBERS))?;
    let buffer = buffers.get(tensor.u32(2)?)?;
    Some(Listed {
        dims,
        kind: tensor.u8(1)?,
        bytes: buffer.bytes(0).unwrap_or_default(),
        name: tensor.bytes(3).unwrap_or_default(),
    })
}

impl Listed<'_> {
    fn count(&self) -> usize {
        self.dims.iter().product()
    }

    /// Height, width and depth; the first of four sizes is that of a batch, which is one.
    fn shape(&self) -> Option<Shape> {
        let mut four = [1; 4];
        four[4 - self.dims.len()..].copy_from_slice(&self.dims);
        (four[0] == 1).then_some([four[1], four[2], four[3]])
    }

    fn numbers(&self) -> Option<Vec<f32>> {
        let numbers: Vec<f32> = match self.kind {
            SINGLE => self.bytes.as_chunks::<4>().0.iter().map(|four| f32::from_le_bytes(*four)).collect(),
            HALF => {
                self.bytes.as_chunks::<2>().0.iter().map(|two| from_half(u16::from_le_bytes(*two))).collect()
            }
            _ => return None,
        };
        (numbers.len() == self.count() && !numbers.is_empty()).then_some(numbers)
    }
}

/// Where a window begins and how large the output is, for one direction.
fn fitted(is_same: bool, input: usize, size: usize, step: usize) -> Option<(usize, usize)> {
    if is_same {
        let output = input.div_ceil(step);
        let beyond = (output.checked_sub(1)?.checked_mul(step)? + size).saturating_sub(input);
        Some((beyond / 2, output))
    } else {
        Some((0, input.checked_sub(size)? / step + 1))
    }
}

struct Reader<'a> {
    values: Vec<Listed<'a>>,
    constants: BTreeMap<usize, Vec<f32>>,
    /// Weights that are in our order already.
    turned: BTreeSet<usize>,
    /// Multiplications of a run.
    work: usize,
}

impl<'a> Reader<'a> {
    fn shape(&self, value: usize) -> Option<Shape> {
        self.values.get(value)?.shape()
    }

    /// A constant of this many numbers, read where it was not yet.
    fn constant(&mut self, value: usize, count: usize) -> Option<()> {
        if !self.constants.contains_key(&value) {
            let numbers = self.values.get(value)?.numbers()?;
            self.constants.insert(value, numbers);
        }
        (self.constants.get(&value)?.len() == count).then_some(())
    }

    fn window(&self, options: &Table<'a>, size: [usize; 2], input: Shape, output: Shape) -> Option<Window> {
        let is_same = match options.u8(0)? {
            0 => true,
            1 => false,
            _ => return None,
        };
        let step = [options.i32(2)?, options.i32(1)?].map(|step| usize::try_from(step).unwrap_or_default());
        if step.contains(&0) || size.contains(&0) {
            return None;
        }
        let (above, height) = fitted(is_same, input[0], size[0], step[0])?;
        let (left, width) = fitted(is_same, input[1], size[1], step[1])?;
        (output[0] == height && output[1] == width).then_some(Window { size, step, before: [above, left] })
    }

    /// Weights `[output depth, height, width, depth]` put in the order `[height, width, depth, output depth]`.
    fn turn_weights(&mut self, value: usize, out_depth: usize) -> Option<()> {
        if !self.turned.insert(value) {
            return Some(());
        }
        let weights = self.constants.get_mut(&value)?;
        let rows = weights.len() / out_depth;
        let turned = (0..weights.len()).map(|k| weights[(k % out_depth) * rows + k / out_depth]).collect();
        *weights = turned;
        Some(())
    }

    /// Reads an operator; `None` where its parts do not fit together.
    fn operator(&mut self, operator: &Table<'a>, code: i32, name: &str) -> Option<Result<Operator, String>> {
        let places =
            |list: Vec<i32>| list.into_iter().map(|k| usize::try_from(k).ok()).collect::<Option<Vec<_>>>();
        let (inputs, outputs) = (places(operator.i32s(1)?)?, places(operator.i32s(2)?)?);
        let [output] = outputs[..] else { return None };
        let input = *inputs.first()?;
        let (from, to) = (self.shape(input)?, self.shape(output)?);
        let numbers = |shape: Shape| shape.iter().product::<usize>();
        if numbers(from) == 0 || numbers(to) == 0 {
            return None;
        }
        let second = || inputs.get(1).copied();
        let options = operator.table(4);
        let kind = match code {
            code::CONV_2D | code::DEPTHWISE_CONV_2D => {
                let is_depthwise = code == code::DEPTHWISE_CONV_2D;
                let [_, weights, bias] = inputs[..] else { return None };
                let dims: [usize; 4] = self.values.get(weights)?.dims.as_slice().try_into().ok()?;
                let [out_depth, height, width, depth] = dims;
                let options = options?;
                // No activation is fused and nothing is dilated in these networks.
                let (activation, dilation) = if is_depthwise { (4, [5, 6]) } else { (3, [4, 5]) };
                if options.u8(activation)? != 0
                    || dilation.iter().any(|k| options.i32(*k).is_none_or(|step| step > 1))
                {
                    return Some(Err("an activation or dilation inside a convolution".into()));
                }
                let window = self.window(&options, [height, width], from, to)?;
                let fits = if is_depthwise {
                    out_depth == 1 && depth == from[2] && depth == to[2]
                } else {
                    depth == from[2] && out_depth == to[2]
                };
                if !fits {
                    return None;
                }
                self.constant(weights, dims.iter().product())?;
                self.constant(bias, to[2])?;
                self.work = self.work.checked_add(
                    numbers(to).checked_mul(height * width * if is_depthwise { 1 } else { depth })?,
                )?;
                if is_depthwise {
                    Kind::Depthwise { weights, bias, window }
                } else {
                    self.turn_weights(weights, out_depth)?;
                    Kind::Convolution { weights, bias, window }
                }
            }
            code::MAX_POOL_2D => {
                let options = options?;
                let size =
                    [options.i32(4)?, options.i32(3)?].map(|size| usize::try_from(size).unwrap_or_default());
                let window = self.window(&options, size, from, to)?;
                self.work = self.work.checked_add(numbers(to).checked_mul(size[0].checked_mul(size[1])?)?)?;
                if from[2] != to[2] {
                    return None;
                }
                Kind::Largest { window }
            }
            code::PRELU => {
                let slopes = second()?;
                self.constant(slopes, from[2])?;
                if from != to {
                    return None;
                }
                Kind::Sloped { slopes }
            }
            code::ADD => {
                let other = second()?;
                if from != to || self.shape(other)? != to {
                    return None;
                }
                Kind::Added { other }
            }
            code::MUL => {
                let other = second()?;
                if from != to
                    || !self
                        .values
                        .get(other)
                        .is_some_and(|value| value.count() == 1 || value.shape() == Some(to))
                {
                    return None;
                }
                if !self.values.get(other)?.bytes.is_empty() {
                    self.constant(other, self.values.get(other)?.count())?;
                }
                Kind::Multiplied { other }
            }
            code::PAD => {
                if from[..2] != to[..2] || to[2] < from[2] {
                    return Some(Err("a border around a picture".into()));
                }
                Kind::Deepened
            }
            // A slice of these networks takes everything.
            code::RESHAPE | code::STRIDED_SLICE => {
                if numbers(from) != numbers(to) {
                    return Some(Err("a part of a value".into()));
                }
                Kind::Same
            }
            code::CUSTOM => match name {
                "Landmarks2TransformMatrix" => {
                    let square = square(&Map::root(operator.bytes(5)?)?)?;
                    let most = numbers(from) / 3;
                    if square.level.iter().chain(&square.points).any(|point| *point >= most)
                        || numbers(to) != 16
                    {
                        return None;
                    }
                    Kind::SquareMap(square)
                }
                "TransformTensorBilinear" => {
                    let map = second()?;
                    if from[2] != to[2] || numbers(self.shape(map)?) != 16 {
                        return None;
                    }
                    Kind::Sampled { map }
                }
                "TransformLandmarks" => {
                    let map = second()?;
                    if from != to || from[2] != 2 || numbers(self.shape(map)?) != 16 {
                        return None;
                    }
                    Kind::BroughtBack { map }
                }
                _ => return Some(Err(name.to_owned())),
            },
            _ => return Some(Err(format!("operator {code}"))),
        };
        Some(Ok(Operator { kind, input, output }))
    }
}

fn square(settings: &Map<'_>) -> Option<Square> {
    let whole = |name: &str| settings.number(name).map(|number| number as usize);
    let size = |name: &str| settings.number(name).map(|number| number as f32).filter(|number| *number > 0.0);
    let points = settings.list("subset_idxs").filter(|points| !points.is_empty())?;
    Some(Square {
        level: [whole("left_rotation_idx")?, whole("right_rotation_idx")?],
        points,
        scale: [size("scale_x")?, size("scale_y")?],
        cells: [size("output_width")?, size("output_height")?],
        turn: settings.number("target_rotation_radians")? as f32,
    })
}

impl Network {
    /// Reads a network; `outputs` names the values that are wanted, in the order in which they will come.
    ///
    /// # Errors
    /// Where the bytes are no such file, are damaged, or have a part that is not known here.
    pub fn read(file: &[u8], outputs: &[&str]) -> Result<Network, NetworkError> {
        Network::checked(file, outputs).unwrap_or(Err(NetworkError::Damaged))
    }

    fn checked(file: &[u8], outputs: &[&str]) -> Option<Result<Network, NetworkError>> {
        /// The mark of the file format, after the place of its root.
        const MARK: &[u8] = b"TFL3";
        if file.get(4..8) != Some(MARK) {
            return None;
        }
        let model = root(file)?;
        let buffers = model.tables(4)?;
        let graph = *model.tables(2)?.first()?;
        let values: Option<Vec<_>> = graph.tables(0)?.iter().map(|tensor| listed(tensor, &buffers)).collect();
        let values = values?;
        let codes: Option<Vec<(i32, String)>> = model
            .tables(1)?
            .iter()
            .map(|code| {
                // Older files keep the code in one byte.
                let builtin = code.i32(3)?.max(i32::from(code.u8(0)?));
                Some((builtin, String::from_utf8_lossy(code.bytes(1).unwrap_or_default()).into_owned()))
            })
            .collect();
        let codes = codes?;
        let input = usize::try_from(*graph.i32s(1)?.first()?).ok().filter(|input| *input < values.len())?;
        let wanted: Option<Vec<usize>> = outputs
            .iter()
            .map(|name| values.iter().position(|value| value.name == name.as_bytes()))
            .collect();
        let wanted = wanted?;

        let mut reader = Reader { values, constants: BTreeMap::new(), turned: BTreeSet::new(), work: 0 };
        let operators = needed(graph.tables(3)?, &codes, &wanted, &mut reader)?;
        let operators: Result<Vec<Operator>, String> = operators.into_iter().collect();
        let operators = match operators {
            Ok(operators) => operators,
            Err(what) => return Some(Err(NetworkError::Unknown(what))),
        };
        if reader.work > MOST_WORK {
            return None;
        }
        let shapes: Vec<Shape> =
            reader.values.iter().map(|value| value.shape().unwrap_or([0, 0, 0])).collect();
        let mut network = Network {
            last_use: vec![0; shapes.len()],
            shapes,
            constants: reader.constants,
            operators,
            input,
            outputs: wanted,
        };
        network.check_order()?;
        Some(Ok(network))
    }

    /// Values that an operator reads.
    fn inputs(operator: &Operator) -> [Option<usize>; 2] {
        let second = match operator.kind {
            Kind::Added { other } | Kind::Multiplied { other } => Some(other),
            Kind::Sampled { map } | Kind::BroughtBack { map } => Some(map),
            _ => None,
        };
        [Some(operator.input), second]
    }

    /// Every value is there before it is read; notes how long it is needed.
    fn check_order(&mut self) -> Option<()> {
        let mut is_there: Vec<bool> =
            (0..self.shapes.len()).map(|value| self.constants.contains_key(&value)).collect();
        *is_there.get_mut(self.input)? = true;
        for (step, operator) in self.operators.iter().enumerate() {
            for value in Network::inputs(operator).into_iter().flatten() {
                if !*is_there.get(value)? {
                    return None;
                }
                *self.last_use.get_mut(value)? = step;
            }
            if std::mem::replace(is_there.get_mut(operator.output)?, true) {
                return None;
            }
        }
        for &output in &self.outputs {
            if !*is_there.get(output)? {
                return None;
            }
            *self.last_use.get_mut(output)? = self.operators.len();
        }
        Some(())
    }

    /// Height, width and depth of the picture that it takes.
    #[must_use]
    pub fn input_shape(&self) -> [usize; 3] {
        self.shapes[self.input]
    }

    /// Runs it on a picture: numbers from 0 to 1 in the order height, width, depth. Gives the wanted values.
    ///
    /// # Errors
    /// Where the picture has another size.
    pub fn run(&self, picture: &[f32]) -> Result<Vec<Vec<f32>>, NetworkError> {
        if picture.len() != self.shapes[self.input].iter().product::<usize>() {
            return Err(NetworkError::Size);
        }
        let mut values: BTreeMap<usize, Vec<f32>> = BTreeMap::from([(self.input, picture.to_vec())]);
        for (step, operator) in self.operators.iter().enumerate() {
            let mut out = vec![0.0; self.shapes[operator.output].iter().product()];
            self.operate(operator, &values, &mut out);
            values.insert(operator.output, out);
            for value in Network::inputs(operator).into_iter().flatten() {
                if self.last_use[value] <= step {
                    values.remove(&value);
                }
            }
        }
        Ok(self.outputs.iter().map(|output| values.remove(output).unwrap_or_default()).collect())
    }

    fn operate(&self, operator: &Operator, values: &BTreeMap<usize, Vec<f32>>, out: &mut [f32]) {
        // Reading has made sure that each is there, and that sizes fit.
        let get = |value: usize| -> &[f32] {
            values.get(&value).or_else(|| self.constants.get(&value)).map(Vec::as_slice).unwrap_or_default()
        };
        let input = get(operator.input);
        let (from, to) = (self.shapes[operator.input], self.shapes[operator.output]);
        let layers = Layers { values: input, shape: from };
        match &operator.kind {
            Kind::Convolution { weights, bias, window } => {
                convolution(layers, get(*weights), get(*bias), *window, out, to);
            }
            Kind::Depthwise { weights, bias, window } => {
                depthwise(layers, get(*weights), get(*bias), *window, out, to);
            }
            Kind::Largest { window } => largest(layers, *window, out, to),
            Kind::Sloped { slopes } => sloped(input, get(*slopes), out),
            Kind::Added { other } => {
                for ((out, one), other) in out.iter_mut().zip(input).zip(get(*other)) {
                    *out = one + other;
                }
            }
            Kind::Multiplied { other } => {
                let other = get(*other);
                let factors = other.iter().cycle().take(out.len());
                for ((out, one), other) in out.iter_mut().zip(input).zip(factors) {
                    *out = one * other;
                }
            }
            Kind::Deepened => deepened(input, from[2], out, to[2]),
            Kind::Same => out.copy_from_slice(input),
            Kind::SquareMap(square) => {
                let [a, c, e, b, d, f] = square_map(square, input);
                let rows = [a, c, 0.0, e, b, d, 0.0, f, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0];
                out.copy_from_slice(&rows);
            }
            Kind::Sampled { map } => sampled(input, from, &rows(get(*map)), out, [to[0], to[1]]),
            Kind::BroughtBack { map } => brought_back(input, &rows(get(*map)), out),
        }
    }
}

/// The affine rows of a 4 × 4 matrix.
fn rows(matrix: &[f32]) -> Rows {
    [0, 1, 3, 4, 5, 7].map(|k| matrix.get(k).copied().unwrap_or_default())
}

/// Operators that the wanted values depend on, in their order. Constants made single from half precision are taken over.
fn needed<'a>(
    tables: Vec<Table<'a>>,
    codes: &[(i32, String)],
    wanted: &[usize],
    reader: &mut Reader<'a>,
) -> Option<Vec<Result<Operator, String>>> {
    let place = |list: Vec<i32>| list.into_iter().filter_map(|k| usize::try_from(k).ok()).collect::<Vec<_>>();
    let mut is_wanted = vec![false; reader.values.len()];
    for &value in wanted {
        *is_wanted.get_mut(value)? = true;
    }
    let mut chosen = Vec::new();
    for table in tables.into_iter().rev() {
        let (code, name) = codes.get(table.u32(0)?)?;
        let (inputs, outputs) = (place(table.i32s(1)?), place(table.i32s(2)?));
        if !outputs.iter().any(|output| is_wanted.get(*output).copied().unwrap_or_default()) {
            continue;
        }
        for input in inputs.iter() {
            *is_wanted.get_mut(*input)? = true;
        }
        if *code == code::DEQUANTIZE {
            let numbers = reader.values.get(*inputs.first()?)?.numbers()?;
            let output = *outputs.first()?;
            if reader.values.get(output)?.count() != numbers.len() {
                return None;
            }
            reader.constants.insert(output, numbers);
        } else {
            chosen.push((table, *code, name.as_str()));
        }
    }
    chosen.reverse();
    chosen.into_iter().map(|(table, code, name)| reader.operator(&table, code, name)).collect()
}
