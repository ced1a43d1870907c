//! What the `serde` attributes say, as far as it is about reading.

use proc_macro2::TokenStream;
use quote::{ToTokens, quote};
use syn::ext::IdentExt;
use syn::meta::ParseNestedMeta;
use syn::{Attribute, Error, ExprPath, Field, LitStr, Result, Token, Variant};

/// How the names of variants are written.
#[derive(Clone, Copy, Default)]
enum Letters {
    #[default]
    AsTheyAre,
    Lower,
    Snake,
}

/// What is said of a whole type.
#[derive(Default)]
pub struct Container {
    /// An unknown field is refused.
    pub is_closed: bool,
    /// Fields that are missing are taken from the type's default.
    pub is_default: bool,
    /// The field that names the variant.
    pub tag: Option<String>,
    letters: Letters,
}

/// What is said of a field.
pub struct FieldRule {
    /// Its name in the text.
    pub name: String,
    /// What stands where it is missing.
    pub blank: TokenStream,
    /// Whether that is an error.
    pub is_required: TokenStream,
}

/// What is said of a variant.
pub struct VariantRule {
    /// Its name in the text.
    pub name: String,
    /// It stands for every name that is not known.
    pub is_other: bool,
}

impl Container {
    /// Reads the attributes of a type.
    pub fn of(attributes: &[Attribute]) -> Result<Container> {
        let mut container = Container::default();
        each(attributes, |meta| {
            match word(&meta).as_str() {
                "deny_unknown_fields" => container.is_closed = true,
                "default" => container.is_default = true,
                "tag" => container.tag = Some(text(&meta)?.value()),
                // A wrapper is read as what it wraps, with and without.
                "transparent" => {}
                "rename_all" => {
                    let letters = text(&meta)?;
                    container.letters = match letters.value().as_str() {
                        "lowercase" => Letters::Lower,
                        "snake_case" => Letters::Snake,
                        _ => return Err(Error::new_spanned(letters, "lowercase or snake_case is expected")),
                    };
                }
                _ => return Err(unknown(&meta)),
            }
            Ok(())
        })?;
        Ok(container)
    }

    /// Whether field names would be written otherwise than they are, which nothing here does.
    pub fn renames(&self) -> bool {
        !matches!(self.letters, Letters::AsTheyAre)
    }

    fn written(&self, variant: &str) -> String {
        match self.letters {
            Letters::AsTheyAre => variant.to_owned(),
            Letters::Lower => variant.to_lowercase(),
            Letters::Snake => {
                let mut name = String::new();
                for letter in variant.chars() {
                    if letter.is_uppercase() && !name.is_empty() {
                        name.push('_');
                    }
                    name.extend(letter.to_lowercase());
                }
                name
            }
        }
    }
}

impl FieldRule {
    /// Reads the attributes of a field with a name.
    pub fn of(field: &Field) -> Result<FieldRule> {
        let kind = &field.ty;
        let mut rule = FieldRule {
            name: field.ident.as_ref().map(|name| name.unraw().to_string()).unwrap_or_default(),
            blank: quote!(<#kind as ::counterpoise_plan::notation::Read>::blank()),
            is_required: quote!(<#kind as ::counterpoise_plan::notation::Read>::IS_REQUIRED),
        };
        each(&field.attrs, |meta| {
            match word(&meta).as_str() {
                "rename" => rule.name = text(&meta)?.value(),
                "default" => {
                    rule.is_required = quote!(false);
                    rule.blank = if meta.input.peek(Token![=]) {
                        let path: ExprPath = text(&meta)?.parse()?;
                        quote!(#path())
                    } else {
                        quote!(<#kind as ::core::default::Default>::default())
                    };
                }
                "skip_serializing_if" => drop(text(&meta)?),
                _ => return Err(unknown(&meta)),
            }
            Ok(())
        })?;
        Ok(rule)
    }
}

impl VariantRule {
    /// Reads the attributes of a variant.
    pub fn of(container: &Container, variant: &Variant) -> Result<VariantRule> {
        let name = container.written(&variant.ident.unraw().to_string());
        let mut rule = VariantRule { name, is_other: false };
        each(&variant.attrs, |meta| {
            match word(&meta).as_str() {
                "rename" => rule.name = text(&meta)?.value(),
                "other" => rule.is_other = true,
                _ => return Err(unknown(&meta)),
            }
            Ok(())
        })?;
        Ok(rule)
    }
}

fn each(attributes: &[Attribute], mut read: impl FnMut(ParseNestedMeta<'_>) -> Result<()>) -> Result<()> {
    attributes
        .iter()
        .filter(|attribute| attribute.path().is_ident("serde"))
        .try_for_each(|attribute| attribute.parse_nested_meta(&mut read))
}

fn word(meta: &ParseNestedMeta<'_>) -> String {
    meta.path.to_token_stream().to_string()
}

fn text(meta: &ParseNestedMeta<'_>) -> Result<LitStr> {
    meta.value()?.parse()
}

fn unknown(meta: &ParseNestedMeta<'_>) -> Error {
    meta.error("reading does not know this attribute; teach it here, or leave it out")
}
