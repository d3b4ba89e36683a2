//! From the first marker of a file to the last mean.

use super::band::{BandNext, BandUpper};
use super::colour::{ColourMarkers, ColourModel};
use super::energy::{EnergyTable, Weights};
use super::error::{Damage, Unread};
use super::frame::{Component, Frame, Process};
use super::huffman::{DcTable, Specification, SymbolTable};
use super::markers::{Contents, EOI, SOI, next_marker, segment};
use super::planes::{BlockMeans, Coefficients};
use super::scan::{self, Header, NextBit, Part, UpperBits};
use super::sequential::{self, Lane};
use super::steps::Coding;

/// Tables of one kind that can be in use at a time.
const TABLES: usize = 4;

/// Walks the file; `variances` says whether to make out those within blocks.
pub(super) fn read(jpeg: &[u8], variances: bool) -> Result<BlockMeans, Unread> {
    if !jpeg.starts_with(&[0xFF, SOI]) {
        return Err(Unread::NotJpeg);
    }
    let mut reader = Reader { jpeg, variances, ..Reader::default() };
    let mut at = 2;
    loop {
        let Some((marker, after)) = next_marker(jpeg, at) else {
            return Err(Unread::Truncated);
        };
        // Past the last mean, other scans can still show damage; they matter to whoever asks for all.
        let is_last = marker == EOI && reader.variances;
        at = if is_last { after - 2 } else { reader.marker(marker, after)? };
        if let Some(picture) = &mut reader.picture
            && picture.planes.iter().all(Coefficients::is_complete)
            && (is_last || !reader.variances || picture.frame.process == Process::Sequential)
        {
            let planes = std::mem::take(&mut picture.planes);
            return Ok(picture.finish(planes, reader.colour, at));
        }
        if is_last {
            return Err(Damage::Incomplete.into());
        }
    }
}

/// What has been read so far.
#[derive(Debug, Default)]
struct Reader<'a> {
    jpeg: &'a [u8],
    variances: bool,
    colour: ColourMarkers,
    /// The steps of each quantisation table, in the order of the file.
    steps: [Option<[u16; 64]>; TABLES],
    dc: [Option<Specification>; TABLES],
    ac: [Option<Specification>; TABLES],
    /// Coding units between restarts; 0 for none.
    restart_interval: u16,
    picture: Option<Picture>,
}

/// A frame and what is known of its coefficients.
#[derive(Debug)]
struct Picture {
    frame: Frame,
    planes: Vec<Coefficients>,
}

impl Reader<'_> {
    /// Takes in what follows a marker, from offset `at`; returns where to look for the next.
    fn marker(&mut self, marker: u8, at: usize) -> Result<usize, Unread> {
        match marker {
            EOI => return Err(Damage::Incomplete.into()),
            SOI => return Err(Damage::SecondFrame.into()),
            // Restart markers of a scan that is not decoded, and TEM, have no segment.
            0xD0..=0xD7 | 0x01 => return Ok(at),
            _ => {}
        }
        let process = Process::from_marker(marker)?;
        let (contents, after) = segment(self.jpeg, at)?;
        if let Some(process) = process {
            self.frame(process, contents)?;
            return Ok(after);
        }
        match marker {
            0xC4 => self.huffman_tables(Contents(contents))?,
            0xDB => self.quantisation_tables(Contents(contents))?,
            0xDA => return self.scan(contents, after),
            0xDD => self.restart_interval = Contents(contents).word()?,
            0xE0 => self.colour.app0(contents),
            0xEE => self.colour.app14(contents),
            _ => {}
        }
        Ok(after)
    }

    fn frame(&mut self, process: Process, contents: &[u8]) -> Result<(), Unread> {
        if self.picture.is_some() {
            return Err(Damage::SecondFrame.into());
        }
        let frame = Frame::parse(process, contents)?;
        // A block takes at least a bit. A few bytes must not claim memory for half a billion pixels.
        let blocks: usize = frame.components.iter().map(|c| c.columns * c.rows).sum();
        if blocks / 8 > self.jpeg.len() {
            return Err(Unread::Truncated);
        }
        let planes =
            frame.components.iter().map(|component| Coefficients::new(&frame, component)).collect();
        self.picture = Some(Picture { frame, planes });
        Ok(())
    }

    fn huffman_tables(&mut self, mut contents: Contents<'_>) -> Result<(), Damage> {
        while !contents.is_empty() {
            let selector = contents.byte()?;
            let tables = match selector >> 4 {
                0 => &mut self.dc,
                1 => &mut self.ac,
                _ => return Err(Damage::Segment),
            };
            let table = tables.get_mut(usize::from(selector & 15)).ok_or(Damage::Segment)?;
            *table = Some(Specification::parse(&mut contents)?);
        }
        Ok(())
    }

    fn quantisation_tables(&mut self, mut contents: Contents<'_>) -> Result<(), Damage> {
        while !contents.is_empty() {
            let selector = contents.byte()?;
            let mut steps = [0; 64];
            for step in &mut steps {
                *step = match selector >> 4 {
                    0 => u16::from(contents.byte()?),
                    1 => contents.word()?,
                    _ => return Err(Damage::Segment),
                };
            }
            *self.steps.get_mut(usize::from(selector & 15)).ok_or(Damage::Segment)? = Some(steps);
        }
        Ok(())
    }

    /// Reads past a progressive scan of a band without first coefficients, which is of one component.
    fn band(&mut self, header: &Header, start: usize) -> Result<usize, Unread> {
        let Some(Picture { frame, planes }) = &mut self.picture else {
            return Err(Damage::NoFrame.into());
        };
        let [scanned] = header.components.as_slice() else { return Err(Damage::Scan.into()) };
        let (Some(plane), Some(component)) =
            (planes.get_mut(scanned.place), frame.components.get(scanned.place))
        else {
            return Err(Damage::Scan.into());
        };
        let ((first, last), (before, lowest)) = (header.band, header.bits);
        if first > last || last > 63 || lowest > 13 || (before > 0 && before != lowest + 1) {
            return Err(Damage::Scan.into());
        }
        plane.want_nonzero();
        let weights = weights(&self.steps, component);
        want_energies(frame, planes, self.colour);
        let table = self.ac.get(scanned.ac).and_then(Option::as_ref).ok_or(Damage::NoHuffman)?;
        let table = &SymbolTable::new(table)?;
        let (data, interval, band) = ((self.jpeg, start), self.restart_interval, header.band);
        if before > 0 {
            let coding = |_: &_| Ok(BandNext { table, band });
            return scan::decode(data, frame, header, interval, planes, coding);
        }
        let coding = |_: &_| Ok(BandUpper { table, weights: &weights, band, lowest });
        scan::decode(data, frame, header, interval, planes, coding)
    }

    /// Decodes a scan, or leaves it be if it has no first coefficients.
    fn scan(&mut self, contents: &[u8], start: usize) -> Result<usize, Unread> {
        let Some(Picture { frame, planes }) = &mut self.picture else {
            return Err(Damage::NoFrame.into());
        };
        let header = Header::parse(frame, contents)?;
        let is_sequential = frame.process == Process::Sequential;
        match header.band {
            _ if is_sequential => {}
            (0, 0) => {}
            (1.., _) if !self.variances => return Ok(start),
            (1.., _) => return self.band(&header, start),
            (0, _) => return Err(Damage::Scan.into()),
        }
        // Sequential scans are decoded whole, whatever they say about bands and bits.
        let (before, lowest) = if is_sequential { (0, 0) } else { header.bits };
        let is_refinement = before > 0;
        if lowest > 13 {
            return Err(Damage::Scan.into());
        }
        for scanned in &header.components {
            let (Some(plane), Some(component)) =
                (planes.get_mut(scanned.place), frame.components.get(scanned.place))
            else {
                return Err(Damage::Scan.into());
            };
            if is_refinement {
                if plane.lowest_bit != Some(before) || lowest != before - 1 {
                    return Err(Damage::Scan.into());
                }
            } else {
                if plane.lowest_bit.is_some() {
                    return Err(Damage::Scan.into());
                }
                plane.step = Some(first_step(&self.steps, component)?);
            }
            plane.lowest_bit = Some(lowest);
        }

        let data = (self.jpeg, start);
        let interval = self.restart_interval;
        if is_refinement {
            let coding = |_: &_| Ok(NextBit { lowest });
            return scan::decode(data, frame, &header, interval, planes, coding);
        }
        let used = |number: fn(&scan::ScanComponent) -> usize| {
            let mut used = [false; TABLES];
            for component in &header.components {
                *used.get_mut(number(component)).ok_or(Damage::NoHuffman)? = true;
            }
            Ok::<_, Damage>(used)
        };
        let dc = lay_out(&self.dc, used(|component| component.dc)?, DcTable::new)?;
        if !is_sequential {
            let coding = |component: &scan::ScanComponent| {
                Ok(UpperBits { dc: table(&dc, component.dc)?, lowest })
            };
            return scan::decode(data, frame, &header, interval, planes, coding);
        }
        let ac = lay_out(&self.ac, used(|component| component.ac)?, SymbolTable::new)?;
        if self.variances {
            want_energies(frame, planes, self.colour);
        }
        let (units, parts) = scan::parts(frame, &header, planes)?;
        let lanes = parts.into_iter().map(|part| {
            let Part { scanned, component, plane, across, down } = part;
            let coding = Coding { dc: table(&dc, scanned.dc)?, ac: table(&ac, scanned.ac)? };
            let energy = (!plane.energies.is_empty())
                .then(|| EnergyTable::new(coding.ac, &weights(&self.steps, component)));
            Ok(Lane { coding, energy, plane, across, down, prediction: 0 })
        });
        let mut lanes = lanes.collect::<Result<Vec<_>, Damage>>()?;
        sequential::decode(data, units, interval, &mut lanes)
    }
}

/// Makes room for energies where they are of use: of colour differences there is little within a block, and the
/// files hold less.
fn want_energies(frame: &Frame, planes: &mut [Coefficients], colour: ColourMarkers) {
    let count = if colour.model(frame) == ColourModel::Rgb { planes.len() } else { 1 };
    planes.iter_mut().take(count).for_each(Coefficients::want_energies);
}

/// What a component's energies are weighed by: the squares of its steps.
fn weights(steps: &[Option<[u16; 64]>; TABLES], component: &Component) -> Weights {
    let steps = steps.get(usize::from(component.quantisation)).copied().flatten();
    steps.unwrap_or([0; 64]).map(|step| f32::from(step) * f32::from(step))
}

/// The step that a component's first coefficients are quantised with.
fn first_step(steps: &[Option<[u16; 64]>; TABLES], component: &Component) -> Result<u16, Damage> {
    let steps = steps.get(usize::from(component.quantisation)).and_then(Option::as_ref);
    steps.map(|steps| steps[0]).filter(|step| *step > 0).ok_or(Damage::NoQuantisation)
}

/// Lays out the tables that are in use: those of a file that only defines them cost nothing.
fn lay_out<T>(
    specifications: &[Option<Specification>; TABLES],
    used: [bool; TABLES],
    new: fn(&Specification) -> Result<T, Damage>,
) -> Result<Vec<Option<T>>, Damage> {
    specifications
        .iter()
        .zip(used)
        .map(|(specification, is_used)| {
            specification.as_ref().filter(|_| is_used).map(new).transpose()
        })
        .collect()
}

fn table<T>(tables: &[Option<T>], number: usize) -> Result<&T, Damage> {
    tables.get(number).and_then(Option::as_ref).ok_or(Damage::NoHuffman)
}

impl Picture {
    fn finish(&self, planes: Vec<Coefficients>, colour: ColourMarkers, end: usize) -> BlockMeans {
        let frame = &self.frame;
        let components = planes.into_iter().zip(&frame.components);
        BlockMeans {
            width: u32::from(frame.width),
            height: u32::from(frame.height),
            components: components.map(|(plane, c)| plane.into_plane(frame, c)).collect(),
            colour: colour.model(frame),
            end,
        }
    }
}
