use std::collections::BTreeMap;

use counterpoise_geometry::SortedMap;
use proptest::prelude::*;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::digits::{fixed, write_number};
use super::number::Written;
use super::{Misread, Outcome, Read, Reader, read, write, write_document};

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(deny_unknown_fields)]
struct Sample {
    text: String,
    real: f64,
    whole: u32,
    below: i64,
    truth: bool,
    maybe: Option<Box<Sample>>,
    list: Vec<[f64; 2]>,
    names: SortedMap<String, Choice>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Read)]
#[serde(rename_all = "snake_case")]
enum Choice {
    Bare,
    One(f64),
    Two { yes: bool, word: String },
    Named { a: u16, b: Vec<Choice> },
}

/// A value of any kind.
#[derive(Debug)]
struct Anything;

impl Read for Anything {
    fn blank() -> Self {
        Anything
    }
    fn read(&mut self, reader: &mut Reader<'_>) -> Outcome {
        reader.skip()
    }
}

fn text() -> impl Strategy<Value = String> {
    prop_oneof![".{0,12}", "[\\x00-\\x7f]{0,12}", Just("\"\\/\u{8}\u{c}\n\r\t\u{1}é😀".to_owned())]
}

fn finite() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<u64>().prop_map(f64::from_bits).prop_filter("finite", |value| value.is_finite()),
        -1e4..1e4,
        (-100_000_i32..100_000, 0_i32..6).prop_map(|(whole, places)| f64::from(whole) / 10_f64.powi(places)),
        Just(0.0),
        Just(-0.0),
    ]
}

fn choice() -> impl Strategy<Value = Choice> {
    let leaf = prop_oneof![
        Just(Choice::Bare),
        finite().prop_map(Choice::One),
        (any::<bool>(), text()).prop_map(|(yes, word)| Choice::Two { yes, word }),
    ];
    leaf.prop_recursive(3, 12, 3, |inner| {
        (any::<u16>(), proptest::collection::vec(inner, 0..3)).prop_map(|(a, b)| Choice::Named { a, b })
    })
}

fn sample() -> impl Strategy<Value = Sample> {
    let plain = || {
        (
            (text(), finite(), any::<u32>(), any::<i64>(), any::<bool>()),
            proptest::collection::vec([finite(), finite()], 0..4),
            proptest::collection::btree_map(text(), choice(), 0..4),
        )
            .prop_map(|((text, real, whole, below, truth), list, names)| Sample {
                text,
                real,
                whole,
                below,
                truth,
                maybe: None,
                list,
                names: names.into_iter().collect(),
            })
    };
    (plain(), proptest::option::of(plain()))
        .prop_map(|(outer, inner)| Sample { maybe: inner.map(Box::new), ..outer })
}

/// Any JSON, also such that no type here wants.
fn json() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        finite().prop_map(Value::from),
        text().prop_map(Value::from),
    ];
    leaf.prop_recursive(4, 24, 4, |inner| {
        prop_oneof![
            proptest::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
            proptest::collection::btree_map(text(), inner, 0..4)
                .prop_map(|map| Value::Object(map.into_iter().collect())),
        ]
    })
}

fn number(text: &str) -> Option<f64> {
    let (written, length) = Written::scan(text.as_bytes())?;
    (length == text.len()).then(|| written.value())?
}

/// A number is read as the standard library reads it, to the bit.
fn assert_as_standard(text: &str) {
    let expected: f64 = text.parse().unwrap();
    let expected = expected.is_finite().then_some(expected.to_bits());
    assert_eq!(number(text).map(f64::to_bits), expected, "{text}");
}

proptest! {
    #[test]
    fn values_come_back_and_serde_json_reads_the_same(sample in sample()) {
        for text in [write(&sample), write_document(&sample)] {
            prop_assert_eq!(read::<Sample>(&text), Ok(sample.clone()), "{}", text);
            prop_assert_eq!(serde_json::from_str::<Sample>(&text).unwrap(), sample.clone(), "{}", text);
        }
    }

    #[test]
    fn what_serde_json_writes_is_read_as_the_same(sample in sample()) {
        for text in [serde_json::to_string(&sample).unwrap(), serde_json::to_string_pretty(&sample).unwrap()] {
            prop_assert_eq!(read::<Sample>(&text), Ok(sample.clone()), "{}", text);
        }
    }

    #[test]
    fn damaged_texts_are_broken_where_serde_json_says_so(
        value in json(), at in any::<prop::sample::Index>(), byte in prop::sample::select(b"\"\\{}[],:0-.eE+ tn\x01".to_vec()), cut in any::<bool>()
    ) {
        let mut bytes = value.to_string().into_bytes();
        let at = at.index(bytes.len());
        if cut { bytes.truncate(at) } else { bytes[at] = byte }
        if let Ok(text) = String::from_utf8(bytes) {
            let expected = serde_json::from_str::<serde::de::IgnoredAny>(&text);
            let found = read::<Anything>(&text);
            // A value that is passed over may be a number that no `f64` holds: neither of the two looks.
            prop_assert_eq!(found.is_ok(), expected.is_ok(), "{} {:?} {:?}", text, found, expected);
            prop_assert!(found.err().is_none_or(|error| error.is_broken));
        }
    }

    #[test]
    fn any_text_is_refused_without_panic(text in ".{0,60}") {
        let _ = read::<Sample>(&text);
        let _ = read::<Choice>(&text);
        let _ = read::<Vec<f64>>(&text);
    }

    #[test]
    fn numbers_are_read_to_the_bit(bits in any::<u64>(), places in 0_usize..40) {
        let value = f64::from_bits(bits);
        if value.is_finite() {
            assert_as_standard(&format!("{value:?}"));
            assert_as_standard(&format!("{value:e}"));
            assert_as_standard(&format!("{value:.places$e}"));
            // Exactly half-way to the next one, and a little beside it: the hardest there is.
            let next = f64::from_bits(bits + 1);
            if next.is_finite() && value > 1e-250 && value < 1e250 {
                let exact = format!("{value:.1100}");
                let other = format!("{next:.1100}");
                let half = middle(&exact, &other);
                assert_as_standard(&half);
                assert_as_standard(&format!("{half}1"));
            }
        }
    }

    #[test]
    fn decimal_numbers_are_read_to_the_bit(whole in any::<u64>(), cut in 0_u32..20, point in 0_usize..20, power in -40_i32..40) {
        let digits = (whole / 10_u64.pow(cut.min(19))).to_string();
        let point = point.min(digits.len() - 1);
        let (front, back) = digits.split_at(digits.len() - point);
        let plain = if back.is_empty() { front.to_owned() } else { format!("{front}.{back}") };
        assert_as_standard(&plain);
        assert_as_standard(&format!("-{plain}e{power}"));
    }

    #[test]
    fn numbers_are_written_as_short_as_can_be(value in finite()) {
        let mut text = String::new();
        write_number(&mut text, value);
        prop_assert_eq!(text.parse::<f64>().unwrap().to_bits(), value.to_bits());
        prop_assert_eq!(text, format!("{value:?}"));
    }
}

proptest! {
    #[test]
    fn decimals_are_those_of_the_standard_library(value in finite(), halves in -400_i32..400, decimals in 0_usize..10) {
        let half = f64::from(halves) / 8.0;
        prop_assert_eq!(fixed(half, decimals), format!("{half:.decimals$}"));
        if value.abs() < 1e9 {
            prop_assert_eq!(fixed(value, decimals), format!("{value:.decimals$}"));
        }
    }
}

#[test]
fn shortest_numbers_at_the_edges_are_those_of_the_standard_library() {
    let powers = (-1074..1024).map(|power| 2_f64.powi(power));
    let tens = (-323..309).map(|power| format!("1e{power}").parse::<f64>().unwrap());
    for value in
        powers.chain(tens).chain([5e-324, 1.5e-323, f64::MAX, f64::MIN_POSITIVE, 9_007_199_254_740_993.0])
    {
        for value in [value, value.next_up(), value.next_down()].into_iter().filter(|value| value.is_finite())
        {
            let mut text = String::new();
            write_number(&mut text, value);
            assert_eq!(text, format!("{value:?}"));
        }
    }
}

#[test]
fn large_and_missing_numbers_with_decimals_are_numbers_all_the_same() {
    assert_eq!(fixed(2e20, 2), format!("{:.2}", 2e20));
    assert_eq!(fixed(-1e300, 1).len(), format!("{:.1}", -1e300).len());
    assert_eq!(fixed(1.5e18, 0), format!("{:.0}", 1.5e18));
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -0.0] {
        assert_eq!(fixed(value, 1), format!("{value:.1}"));
    }
}

/// Half-way between two positive numbers that are written with equally many decimals.
fn middle(a: &str, b: &str) -> String {
    let width = a.len().max(b.len());
    let digits = |text: &str| -> Vec<u8> { format!("{text:0>width$}").into_bytes() };
    let (a, b) = (digits(a), digits(b));
    let mut carry = 0;
    let mut sum: Vec<u8> = a
        .iter()
        .zip(&b)
        .rev()
        .map(|(x, y)| {
            if *x == b'.' {
                return b'.';
            }
            let both = x - b'0' + y - b'0' + carry;
            carry = both / 10;
            b'0' + both % 10
        })
        .collect();
    sum.push(b'0' + carry);
    sum.reverse();
    // Halved from the front.
    let mut rest = 0;
    let mut half = String::new();
    for digit in sum {
        if digit == b'.' {
            half.push('.');
            continue;
        }
        let here = 10 * rest + digit - b'0';
        half.push(char::from(b'0' + here / 2));
        rest = here % 2;
    }
    half.push(char::from(b'0' + 5 * rest));
    let start = half.find(|digit: char| digit != '0').unwrap_or(0);
    let start = if half[start..].starts_with('.') { start - 1 } else { start };
    half[start..].to_owned()
}

#[test]
fn edges_of_the_numbers_are_read_to_the_bit() {
    for text in [
        "0",
        "-0",
        "-0.0",
        "1",
        "0.1",
        "9007199254740991",
        "9007199254740992",
        "9007199254740993",
        "18446744073709551615",
        "18446744073709551616",
        "123456789012345678901234567890",
        "1e22",
        "1e23",
        "1e-22",
        "1e-27",
        "1e-28",
        "8.5e-28",
        "1.7976931348623157e308",
        "1.7976931348623158e308",
        "1.7976931348623159e308",
        "1e309",
        "1e400",
        "1e99999999999",
        "0e99999999999",
        "1e-99999999999",
        "2.2250738585072014e-308",
        "2.2250738585072011e-308",
        "2.225073858507201e-308",
        "4.9e-324",
        "5e-324",
        "2.4703282292062327e-324",
        "2.4703282292062328e-324",
        "2.5e-324",
        "1e-324",
        "0.000000000000000000000000000000000000000000001e-280",
        "6.631236846766476e-316",
        "3.237883913302901e-319",
    ] {
        assert_as_standard(text);
    }
    for length in [17, 30, 400, 799, 800, 801, 1_500] {
        for digit in ["0", "1", "9"] {
            let tail = digit.repeat(length);
            assert_as_standard(&format!("1.{tail}1"));
            assert_as_standard(&format!("9007199254740993.{tail}1"));
            assert_as_standard(&format!("{}e-{length}", "7".repeat(length)));
        }
    }
}

#[test]
fn texts_that_are_no_numbers_are_refused() {
    for text in ["", "-", "+1", "01", "-01", "1.", ".5", "1e", "1e+", "0x1", "NaN", "Infinity", "1_0", "--1"]
    {
        assert!(number(text).is_none(), "{text}");
        assert!(read::<f64>(text).is_err_and(|error| error.is_broken), "{text}");
    }
}

fn misread(text: &str) -> Misread {
    read::<Sample>(text).expect_err(text)
}

#[test]
fn refusals_say_where_and_what() {
    let place = |text: &str| (misread(text).line, misread(text).column, misread(text).is_broken);
    assert_eq!(place(""), (1, 1, true));
    assert_eq!(place("{\n  \"text\": \"é\",\n  \"real\" 1}"), (3, 10, true));
    assert_eq!(place("{\"text\": 1}"), (1, 10, false));
    assert_eq!(place("{\n\"hue\": 1}"), (2, 6, false));
    assert_eq!(place("[]"), (1, 1, false));
    assert_eq!(misread("{\"hue\": 1}").to_string(), "an unknown field, line 1 column 7");
    assert!(misread("{\"text\": \"\", \"text\": \"\"}").what.contains("twice"));
    assert!(misread("{\"text\": \"\"}").what.contains("missing"));
}

#[test]
fn numbers_and_lists_of_the_wrong_size_are_refused() {
    let fits = |text| read::<u16>(text).is_ok();
    assert!(fits("65535") && !fits("65536") && !fits("-1") && !fits("1.0") && !fits("1e2") && !fits("null"));
    assert_eq!(read::<i64>("-9223372036854775808"), Ok(i64::MIN));
    assert!(read::<i64>("-9223372036854775809").is_err());
    assert!(read::<f64>("1e400").is_err());
    let pair = |text| read::<[f64; 2]>(text).is_ok();
    assert!(pair("[1, 2]") && !pair("[1]") && !pair("[1, 2, 3]") && !pair("[1, 2,]") && !pair("[1 2]"));
}

#[test]
fn maps_of_thousands_of_names_are_refused() {
    let text = |many: usize| {
        let entries: Vec<String> = (0..many).rev().map(|k| format!("\"{k:06}\":1.5")).collect();
        format!("{{{}}}", entries.join(","))
    };
    assert_eq!(read::<SortedMap<String, f64>>(&text(4096)).map(|map| map.len()), Ok(4096));
    assert!(read::<SortedMap<String, f64>>(&text(4097)).is_err_and(|error| error.what == "too many names"));
}

#[test]
fn tags_are_found_wherever_they_stand() {
    #[derive(Debug, PartialEq, Read)]
    #[serde(tag = "by", rename_all = "lowercase", deny_unknown_fields)]
    enum Way {
        Foot,
        Sea { miles: f64, by_night: bool },
    }
    let sea = Way::Sea { miles: 2.0, by_night: true };
    for text in [
        r#"{"by": "sea", "miles": 2, "by_night": true}"#,
        r#"{"miles": 2, "by_night": true, "by": "sea"}"#,
        r#"{"by_night": true, "b\u0079": "sea", "miles": 2}"#,
    ] {
        assert_eq!(read::<Way>(text).as_ref(), Ok(&sea), "{text}");
    }
    assert_eq!(read(r#"{"by": "foot"}"#), Ok(Way::Foot));
    for text in [
        "{}",
        r#""foot""#,
        r#"{"by": 1}"#,
        r#"{"by": "air"}"#,
        r#"{"by": "foot", "by": "foot"}"#,
        r#"{"by": "foot", "miles": 2}"#,
        r#"{"by": "sea", "miles": 2}"#,
        r#"{"by": "sea", "miles": 2, "by_night": true, "by": "sea"}"#,
        r#"{"miles": {"by": "foot"}}"#,
    ] {
        assert!(read::<Way>(text).is_err_and(|error| !error.is_broken), "{text}");
    }
    assert!(read::<Way>(r#"{"miles": 2, "by""#).is_err_and(|error| error.is_broken));
}

#[test]
fn deep_texts_are_refused_and_do_not_exhaust_the_stack() {
    let deep = |depth| format!("{}{}", "[".repeat(depth), "]".repeat(depth));
    assert!(read::<Anything>(&deep(128)).is_ok());
    assert!(read::<Anything>(&deep(129)).is_err());
    assert!(read::<Anything>(&deep(1_000_000)).is_err());
}

#[test]
fn escapes_are_read_and_lone_surrogates_refused() {
    assert_eq!(read::<String>(r#""a\u00e9\ud83d\ude00\/\n""#).as_deref(), Ok("aé😀/\n"));
    for text in
        [r#""\ud83d""#, r#""\ude00""#, r#""\ud83d\u0041""#, r#""\x""#, r#""\u12""#, r#""\u+123""#, "\"\n\""]
    {
        assert!(read::<String>(text).is_err_and(|error| error.is_broken), "{text}");
    }
}

#[test]
fn documents_have_a_field_a_line_and_lists_on_one() {
    let choice = Choice::Named { a: 1, b: vec![Choice::Named { a: 2, b: vec![] }, Choice::Bare] };
    let names = BTreeMap::from([
        ("n".to_owned(), choice),
        ("m".to_owned(), Choice::Two { yes: true, word: String::new() }),
    ]);
    let text = write_document(&(names.clone(), BTreeMap::<String, bool>::new()).0);
    assert_eq!(
        text,
        "{\n  \"m\": {\n    \"two\": {\n      \"yes\": true,\n      \"word\": \"\"\n    }\n  },\n  \"n\": {\n    \"named\": {\n      \"a\": 1,\n      \"b\": [{\"named\": {\"a\": 2, \"b\": []}},\"bare\"]\n    }\n  }\n}\n"
    );
    assert_eq!(write_document(&BTreeMap::<String, bool>::new()), "{}\n");
    assert_eq!(
        write(&names),
        r#"{"m":{"two":{"yes":true,"word":""}},"n":{"named":{"a":1,"b":[{"named":{"a":2,"b":[]}},"bare"]}}}"#
    );
}
