//! `derive(Read)`: how a type is read from JSON, by the attributes that serde's derived code goes by.
//!
//! The derived code of a general library is made anew for each type and for each way to come by its parts; for the plan's types that was a
//! quarter of the page's module. What is made here is a table of names and one call for each field; the rest is in the
//! reader, once.

mod attributes;
mod shapes;

use proc_macro::TokenStream;
use quote::quote;
use syn::{Data, DeriveInput, Error, Fields, Result, parse_macro_input};

use crate::attributes::Container;

/// Makes `Read` for a struct or enum without parameters, by its `serde` attributes. Understood are `default`, `rename`, `other`,
/// `rename_all = "lowercase" | "snake_case"` of enums, `deny_unknown_fields`, `tag` and `transparent`; what is only about writing is passed over.
///
/// # Errors
/// An attribute or form that is not understood stops the compiler there.
#[proc_macro_derive(Read, attributes(serde))]
pub fn derive_read(input: TokenStream) -> TokenStream {
    let input = parse_macro_input!(input as DeriveInput);
    reading(&input).unwrap_or_else(Error::into_compile_error).into()
}

fn reading(input: &DeriveInput) -> Result<proc_macro2::TokenStream> {
    if !input.generics.params.is_empty() {
        return Err(Error::new_spanned(&input.generics, "a type without parameters is expected"));
    }
    let container = Container::of(&input.attrs)?;
    let shapes::Reading { blank, read } = match &input.data {
        Data::Struct(data) => match &data.fields {
            Fields::Named(fields) => shapes::of_fields(&container, fields)?,
            Fields::Unnamed(fields) if fields.unnamed.len() == 1 => shapes::of_wrapper(),
            other => {
                return Err(Error::new_spanned(other, "fields with names, or one without, are expected"));
            }
        },
        Data::Enum(data) => shapes::of_variants(&container, data)?,
        Data::Union(data) => return Err(Error::new_spanned(data.union_token, "a union cannot be read")),
    };
    let name = &input.ident;
    Ok(quote! {
        impl ::counterpoise_plan::notation::Read for #name {
            fn blank() -> Self {
                #blank
            }
            fn read(
                &mut self,
                reader: &mut ::counterpoise_plan::notation::Reader<'_>,
            ) -> ::counterpoise_plan::notation::Outcome {
                #read
            }
        }
    })
}
