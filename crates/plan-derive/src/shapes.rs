//! The code for each form of a type.

use proc_macro2::TokenStream;
use quote::{format_ident, quote};
use syn::{DataEnum, Error, Fields, FieldsNamed, Result, Variant};

use crate::attributes::{Container, FieldRule, VariantRule};

/// Which fields were there is a bit each in the reader.
const MOST_FIELDS: usize = 64;

/// The bodies of the two functions.
pub struct Reading {
    /// What there is before anything is read.
    pub blank: TokenStream,
    /// What is read into it.
    pub read: TokenStream,
}

/// A struct with named fields is an object.
pub fn of_fields(container: &Container, fields: &FieldsNamed) -> Result<Reading> {
    if container.renames() || container.tag.is_some() {
        return Err(Error::new_spanned(
            fields,
            "fields are read by their own names, and a struct has no tag",
        ));
    }
    let rules = rules(fields)?;
    let names: Vec<_> = fields.named.iter().map(|field| &field.ident).collect();
    let blanks = rules.iter().map(|rule| &rule.blank);
    let table = table(&rules, container.is_closed, container.is_default);
    let arms = arms(&names.iter().map(|name| quote!(&mut whole.#name)).collect::<Vec<_>>());
    let blank = if container.is_default {
        quote!(<Self as ::core::default::Default>::default())
    } else {
        quote!(Self { #(#names: #blanks),* })
    };
    let read = quote! {
        #table
        *self = <Self as ::counterpoise_plan::notation::Read>::blank();
        reader.object(&FIELDS, &mut |index: usize, reader: &mut ::counterpoise_plan::notation::Reader<'_>| {
            // Borrowed as a whole, so that the closure holds one address and not one for each field.
            let whole = &mut *self;
            #arms
        })
    };
    Ok(Reading { blank, read })
}

/// A struct around one value is that value.
pub fn of_wrapper() -> Reading {
    Reading {
        blank: quote!(Self(::counterpoise_plan::notation::Read::blank())),
        read: quote!(::counterpoise_plan::notation::Read::read(&mut self.0, reader)),
    }
}

/// An enum is a name, a name with its content, or, with a tag, an object that names it.
pub fn of_variants(container: &Container, data: &DataEnum) -> Result<Reading> {
    let rules: Vec<_> =
        data.variants.iter().map(|variant| VariantRule::of(container, variant)).collect::<Result<_>>()?;
    let first =
        data.variants.first().ok_or_else(|| Error::new_spanned(data.enum_token, "a variant is expected"))?;
    let blank = blank_variant(first)?;
    let names = rules.iter().map(|rule| &rule.name);
    let names = quote!(const NAMES: &[&str] = &[#(#names),*];);
    let other = rules.iter().position(|rule| rule.is_other);
    if data.variants.iter().all(|variant| matches!(variant.fields, Fields::Unit)) && container.tag.is_none() {
        let variants = data.variants.iter().map(|variant| &variant.ident).map(|name| quote!(Self::#name));
        let chosen = choice(&variants.collect::<Vec<_>>());
        let name =
            other.map_or_else(|| quote!(reader.name(NAMES)?), |other| quote!(reader.name_or(NAMES, #other)?));
        let read = quote! {
            #names
            let index = #name;
            *self = #chosen;
            Ok(())
        };
        return Ok(Reading { blank, read });
    }
    if let Some(other) = other.and_then(|index| data.variants.iter().nth(index)) {
        return Err(Error::new_spanned(other, "only a name alone can stand for every other"));
    }
    let arms: Vec<_> =
        data.variants.iter().map(|variant| content(container, variant)).collect::<Result<_>>()?;
    let read = if let Some(tag) = &container.tag {
        let arms = choice(&arms);
        quote! {
            #names
            let index = reader.tag(#tag, NAMES)?;
            #arms
        }
    } else {
        let arms: Vec<_> = data
            .variants
            .iter()
            .zip(arms)
            .map(|(variant, content)| match variant.fields {
                Fields::Unit => quote!({ reader.bare(has_content)?; #content }),
                _ => quote!({ reader.content(has_content)?; #content }),
            })
            .collect();
        let arms = choice(&arms);
        quote! {
            #names
            reader.variant(NAMES, &mut |(index, has_content): (usize, bool), reader: &mut ::counterpoise_plan::notation::Reader<'_>| #arms)
        }
    };
    Ok(Reading { blank, read })
}

/// Reads what a variant holds, and makes it of that.
fn content(container: &Container, variant: &Variant) -> Result<TokenStream> {
    let name = &variant.ident;
    Ok(match &variant.fields {
        Fields::Unit if container.tag.is_none() => quote!({ *self = Self::#name; Ok(()) }),
        Fields::Unit => {
            let table = table(&[], container.is_closed, false);
            quote!({
                #table
                reader.object(&FIELDS, &mut |_: usize, _: &mut ::counterpoise_plan::notation::Reader<'_>| Ok(()))?;
                *self = Self::#name;
                Ok(())
            })
        }
        Fields::Unnamed(fields) if fields.unnamed.len() == 1 => quote!({
            *self = Self::#name(::counterpoise_plan::notation::Read::next(reader)?);
            Ok(())
        }),
        Fields::Named(fields) => {
            let rules = rules(fields)?;
            let names: Vec<_> = fields.named.iter().map(|field| &field.ident).collect();
            // A field's own name might be one of the reader's.
            let places: Vec<_> = (0..names.len()).map(|index| format_ident!("field_{index}")).collect();
            let kinds = fields.named.iter().map(|field| &field.ty);
            let blanks = rules.iter().map(|rule| &rule.blank);
            let table = table(&rules, container.is_closed, false);
            let arms = arms(&places.iter().map(|place| quote!(&mut #place)).collect::<Vec<_>>());
            quote!({
                #table
                #(let mut #places: #kinds = #blanks;)*
                reader.object(&FIELDS, &mut |index: usize, reader: &mut ::counterpoise_plan::notation::Reader<'_>| #arms)?;
                *self = Self::#name { #(#names: #places),* };
                Ok(())
            })
        }
        other => return Err(Error::new_spanned(other, "one value, or fields with names, are expected")),
    })
}

fn blank_variant(variant: &Variant) -> Result<TokenStream> {
    let name = &variant.ident;
    Ok(match &variant.fields {
        Fields::Unit => quote!(Self::#name),
        Fields::Unnamed(fields) if fields.unnamed.len() == 1 => {
            quote!(Self::#name(::counterpoise_plan::notation::Read::blank()))
        }
        Fields::Named(fields) => {
            let names = fields.named.iter().map(|field| &field.ident);
            let rules = rules(fields)?;
            let blanks = rules.iter().map(|rule| &rule.blank);
            quote!(Self::#name { #(#names: #blanks),* })
        }
        other => return Err(Error::new_spanned(other, "one value, or fields with names, are expected")),
    })
}

fn rules(fields: &FieldsNamed) -> Result<Vec<FieldRule>> {
    if fields.named.len() > MOST_FIELDS {
        return Err(Error::new_spanned(fields, "more fields than the reader has bits for"));
    }
    fields.named.iter().map(FieldRule::of).collect()
}

/// The table that the reader goes by.
fn table(rules: &[FieldRule], is_closed: bool, has_defaults: bool) -> TokenStream {
    let names = rules.iter().map(|rule| &rule.name);
    let bits = rules.iter().enumerate().map(|(index, rule)| {
        let is_required = &rule.is_required;
        quote!(((#is_required as u64) << #index))
    });
    let required = if has_defaults || rules.is_empty() { quote!(0) } else { quote!(#(#bits)|*) };
    quote! {
        const FIELDS: ::counterpoise_plan::notation::Fields = ::counterpoise_plan::notation::Fields {
            names: &[#(#names),*],
            required: #required,
            is_closed: #is_closed,
        };
    }
}

/// Which field is read into which place.
fn arms(places: &[TokenStream]) -> TokenStream {
    choice(
        &places
            .iter()
            .map(|place| quote!(::counterpoise_plan::notation::Read::read(#place, reader)))
            .collect::<Vec<_>>(),
    )
}

/// One of these by its index, which the reader took from a list as long as this one.
fn choice(arms: &[TokenStream]) -> TokenStream {
    let Some((last, before)) = arms.split_last() else { return quote!(Ok(())) };
    let index = 0..before.len();
    quote! {
        match index {
            #(#index => #before,)*
            _ => #last,
        }
    }
}
