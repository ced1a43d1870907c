//! The sheet as PDF.

use std::collections::BTreeMap;

use pdf_writer::types::{CidFontType, FontFlags, LineCapStyle, LineJoinStyle, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use subsetter::GlyphRemapper;

use crate::direction::on_paper;
use crate::font::{Fonts, file};
use crate::page::{Mark, Page, Weight};
use crate::sheet::Sheet;

/// Points for each millimetre: 72 to the inch.
const POINTS_PER_MM: f64 = 72.0 / 25.4;
/// Units of a PDF's font metrics for each em.
const FONT_UNITS: f64 = 1000.0;
const WEIGHTS: [(Weight, &[u8], &[u8]); 2] =
    [(Weight::Regular, b"R", b"AAAAAA+DejaVuSans"), (Weight::Bold, b"B", b"AAAAAB+DejaVuSans-Bold")];

/// The sheet as a PDF file that asks to be printed at its own size. Letters are text in embedded fonts that hold just those
/// letters. Empty where the built-in fonts cannot be read, which never happens.
#[must_use]
pub fn pdf(sheet: &Sheet) -> Vec<u8> {
    Fonts::new().map_or_else(Vec::new, |fonts| Writer::new(sheet, &fonts).finish())
}

/// A weight's letters: which glyphs are used, and what each stands for.
struct Used {
    glyphs: GlyphRemapper,
    letters: BTreeMap<u16, char>,
}

struct Writer<'a> {
    sheet: &'a Sheet,
    fonts: &'a Fonts,
    pdf: Pdf,
    used: [Used; 2],
    next: i32,
}

#[expect(clippy::cast_possible_truncation, reason = "PDF numbers are single precision: 1e-5 mm on a page")]
const fn single(value: f64) -> f32 {
    value as f32
}

const fn index(weight: Weight) -> usize {
    match weight {
        Weight::Regular => 0,
        Weight::Bold => 1,
    }
}

impl<'a> Writer<'a> {
    fn new(sheet: &'a Sheet, fonts: &'a Fonts) -> Self {
        let used = [(); 2].map(|()| Used { glyphs: GlyphRemapper::new(), letters: BTreeMap::new() });
        Writer { sheet, fonts, pdf: Pdf::new(), used, next: 0 }
    }

    fn reference(&mut self) -> Ref {
        self.next += 1;
        Ref::new(self.next)
    }

    fn finish(mut self) -> Vec<u8> {
        let (catalog, tree, info) = (self.reference(), self.reference(), self.reference());
        let font_refs = WEIGHTS.map(|_| self.reference());
        let sheet = self.sheet;
        let pages: Vec<(Ref, Ref, Vec<u8>)> = sheet
            .pages
            .iter()
            .map(|page| {
                let content = self.content(page);
                (self.reference(), self.reference(), content)
            })
            .collect();
        let mut root = self.pdf.catalog(catalog);
        root.pages(tree);
        root.viewer_preferences().insert(Name(b"PrintScaling")).primitive(Name(b"None"));
        root.finish();
        self.pdf.document_info(info).title(TextStr(&sheet.title));
        #[expect(clippy::cast_possible_wrap, clippy::cast_possible_truncation, reason = "a few pages")]
        let count = pages.len() as i32;
        self.pdf.pages(tree).kids(pages.iter().map(|page| page.0)).count(count);
        for (page, (page_ref, content_ref, content)) in sheet.pages.iter().zip(&pages) {
            let (width, height) = page.size_mm;
            let mut written = self.pdf.page(*page_ref);
            let media = Rect::new(0.0, 0.0, single(width * POINTS_PER_MM), single(height * POINTS_PER_MM));
            written.media_box(media).parent(tree).contents(*content_ref);
            let mut resources = written.resources();
            let mut fonts = resources.fonts();
            for ((_, name, _), font) in WEIGHTS.iter().zip(font_refs) {
                fonts.pair(Name(name), font);
            }
            fonts.finish();
            resources.finish();
            written.finish();
            self.pdf.stream(*content_ref, content);
        }
        for ((weight, _, name), font) in WEIGHTS.into_iter().zip(font_refs) {
            self.font(weight, name, font);
        }
        self.pdf.finish()
    }

    /// What is drawn on a page.
    fn content(&mut self, page: &Page) -> Vec<u8> {
        let mut content = Content::new();
        // Millimetres with y down, as the page has them.
        let scale = single(POINTS_PER_MM);
        content.transform([scale, 0.0, 0.0, -scale, 0.0, single(page.size_mm.1 * POINTS_PER_MM)]);
        content.set_line_cap(LineCapStyle::ButtCap).set_line_join(LineJoinStyle::MiterJoin);
        for mark in &page.marks {
            match mark {
                Mark::Line { ink, points, closed } => {
                    content
                        .set_line_width(single(ink.width_mm()))
                        .set_stroke_gray(single(ink.grey()))
                        .set_dash_pattern(ink.dash_mm().iter().copied().map(single), 0.0);
                    for (index, at) in points.iter().enumerate() {
                        let (x, y) = (single(at.x), single(at.y));
                        if index == 0 {
                            content.move_to(x, y)
                        } else {
                            content.line_to(x, y)
                        };
                    }
                    if *closed {
                        content.close_path();
                    }
                    content.stroke();
                }
                Mark::Text { at, size_mm, align, weight, text } => {
                    let x = at.x - self.fonts.offset_mm(text, *size_mm, *weight, *align);
                    let (_, name, _) = WEIGHTS[index(*weight)];
                    content.begin_text().set_font(Name(name), single(*size_mm));
                    // Letters stand upright in a page that runs downwards.
                    content.set_text_matrix([1.0, 0.0, 0.0, -1.0, single(x), single(at.y)]);
                    content.show(Str(&self.encoded(text, *weight))).end_text();
                }
            }
        }
        content.finish().to_vec()
    }

    /// Two bytes for each letter: its glyph in the embedded font.
    fn encoded(&mut self, text: &str, weight: Weight) -> Vec<u8> {
        let face = self.fonts.face(weight);
        let used = &mut self.used[index(weight)];
        let mut bytes = Vec::with_capacity(2 * text.len());
        for letter in on_paper(text).chars() {
            let glyph = used.glyphs.remap(face.glyph_index(letter).map_or(0, |glyph| glyph.0));
            used.letters.entry(glyph).or_insert(letter);
            bytes.extend(glyph.to_be_bytes());
        }
        bytes
    }

    /// An embedded font with the letters that are used.
    fn font(&mut self, weight: Weight, name: &[u8], font: Ref) {
        let (cid, descriptor, data, to_unicode) =
            (self.reference(), self.reference(), self.reference(), self.reference());
        let face = self.fonts.face(weight);
        let used = &self.used[index(weight)];
        let system = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
        let units = |value: f64| single(value * FONT_UNITS / f64::from(face.units_per_em()));

        self.pdf
            .type0_font(font)
            .base_font(Name(name))
            .encoding_predefined(Name(b"Identity-H"))
            .descendant_font(cid)
            .to_unicode(to_unicode);
        let mut written = self.pdf.cid_font(cid);
        written
            .subtype(CidFontType::Type2)
            .base_font(Name(name))
            .system_info(system)
            .font_descriptor(descriptor)
            .default_width(0.0)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        let widths = used.glyphs.remapped_gids().map(|old| {
            units(f64::from(face.glyph_hor_advance(ttf_parser::GlyphId(old)).unwrap_or_default()))
        });
        written.widths().consecutive(0, widths);
        written.finish();
        let bounds = face.global_bounding_box();
        let bounds =
            [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(|edge| units(f64::from(edge)));
        let [x0, y0, x1, y1] = bounds;
        self.pdf
            .font_descriptor(descriptor)
            .name(Name(name))
            .flags(FontFlags::NON_SYMBOLIC)
            .bbox(Rect::new(x0, y0, x1, y1))
            .italic_angle(0.0)
            .ascent(units(f64::from(face.ascender())))
            .descent(units(f64::from(face.descender())))
            .cap_height(units(f64::from(face.capital_height().unwrap_or_else(|| face.ascender()))))
            .stem_v(if weight == Weight::Bold { 150.0 } else { 90.0 })
            .font_file2(data);
        // A font that cannot be cut down is embedded whole; its glyphs would then have other numbers, so it is left out instead
        // and the letters are the reader's own.
        let subset = subsetter::subset(file(weight), 0, &used.glyphs).unwrap_or_default();
        self.pdf
            .stream(data, &subset)
            .pair(Name(b"Length1"), i32::try_from(subset.len()).unwrap_or(i32::MAX));
        let mut map = UnicodeCmap::new(Name(b"Custom"), system);
        for (&glyph, &letter) in &used.letters {
            map.pair(glyph, letter);
        }
        self.pdf.cmap(to_unicode, &map.finish());
    }
}
