//! Pictures for bad input, made byte by byte: no camera or library would write them.

use std::io::Write;

use flate2::Crc;
use flate2::write::ZlibEncoder;

/// A grey PNG (ISO/IEC 15948) with one bit a pixel, striped or all black.
///
/// # Panics
/// Never: it writes to memory.
#[must_use]
pub fn png(width: u32, height: u32, striped: bool) -> Vec<u8> {
    let mut file = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut head = Vec::new();
    head.extend(width.to_be_bytes());
    head.extend(height.to_be_bytes());
    // One bit, greyscale, deflate, no filter, not interlaced.
    head.extend([1, 0, 0, 0, 0]);
    chunk(&mut file, b"IHDR", &head);
    let mut row = vec![if striped { 0xf0 } else { 0 }; width.div_ceil(8) as usize + 1];
    if let Some(filter) = row.first_mut() {
        *filter = 0;
    }
    let mut packed = ZlibEncoder::new(Vec::new(), flate2::Compression::fast());
    for _ in 0..height {
        packed.write_all(&row).expect("memory takes it");
    }
    chunk(&mut file, b"IDAT", &packed.finish().expect("memory takes it"));
    chunk(&mut file, b"IEND", &[]);
    file
}

fn chunk(file: &mut Vec<u8>, name: &[u8; 4], content: &[u8]) {
    let length = u32::try_from(content.len()).expect("small");
    file.extend(length.to_be_bytes());
    file.extend(name);
    file.extend(content);
    let mut sum = Crc::new();
    sum.update(name);
    sum.update(content);
    file.extend(sum.sum().to_be_bytes());
}

/// The start of a HEIC file (ISO/IEC 23008-12), which is all that tells what it is.
#[must_use]
pub fn heic() -> Vec<u8> {
    let mut file = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic".to_vec();
    file.extend([0; 4096]);
    file
}

/// A JPEG with an EXIF orientation put in behind its first marker.
///
/// # Panics
/// Where it is no JPEG.
#[must_use]
pub fn with_orientation(jpeg: &[u8], orientation: u8) -> Vec<u8> {
    assert!(jpeg.starts_with(&[0xff, 0xd8]), "a JPEG");
    // APP1, "Exif", a big-endian TIFF head, one entry: tag 0x0112, type SHORT, count 1 (CIPA DC-008).
    let mut segment = b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
    segment.extend([orientation, 0, 0, 0, 0, 0, 0]);
    let length = u16::try_from(segment.len() + 2).expect("short");
    let mut file = vec![0xff, 0xd8, 0xff, 0xe1];
    file.extend(length.to_be_bytes());
    file.extend(segment);
    file.extend(jpeg.get(2..).unwrap_or_default());
    file
}
