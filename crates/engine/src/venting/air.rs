//! Dry air that flows out through a hole or a thin slot. SI units here, as the tables of gas flow have them.

/// Gas constant of dry air, J/(kg K): 8.314462/0.0289652.
pub const GAS_J_KG_K: f64 = 287.05;

/// Ratio of the heat capacities of air.
pub const KAPPA: f64 = 1.4;

/// Pressure of the room, Pa: the standard atmosphere.
pub const ROOM_PA: f64 = 101_325.0;

/// Celsius temperature of nothing, K.
const ZERO_C_K: f64 = 273.15;

/// A Celsius temperature in kelvin.
pub fn kelvin(temperature_c: f64) -> f64 {
    temperature_c + ZERO_C_K
}

/// Viscosity of air, Pa s, at a temperature in K.
///
/// Sutherland's law `μ = μ₀·(T/T₀)^1.5·(T₀ + S)/(T + S)` with 1.716e-5 Pa s at 273 K and S = 111 K: White, Viscous
/// Fluid Flow, table 1-2 (from memory).
pub fn viscosity_pa_s(temperature_k: f64) -> f64 {
    let (mu, t, s) = (1.716e-5, 273.0, 111.0);
    mu * (temperature_k / t).powf(1.5) * (t + s) / (temperature_k + s)
}

/// Mass flow a m² through a rounded hole, kg/(s m²), from air at rest at `inside_pa` to `outside_pa`.
///
/// Isentropic flow of a perfect gas; choked at `p₂/p₁ ≤ (2/(κ+1))^(κ/(κ−1)) = 0.528`, where no lower pressure
/// outside draws more: any textbook of gas dynamics, for example White, Fluid Mechanics, 9.4 (from memory).
/// Nothing flows inwards.
pub fn orifice_kg_s_m2(inside_pa: f64, outside_pa: f64, temperature_k: f64) -> f64 {
    let k = KAPPA;
    let ratio = outside_pa / inside_pa;
    if ratio >= 1.0 || ratio.is_nan() {
        return 0.0;
    }
    let choked = (2.0 / (k + 1.0)).powf(k / (k - 1.0));
    let ratio = ratio.max(choked);
    let speed = (2.0 * k / (k - 1.0) * (ratio.powf(2.0 / k) - ratio.powf((k + 1.0) / k))).sqrt();
    inside_pa / (GAS_J_KG_K * temperature_k).sqrt() * speed
}

/// Mass flow through a thin slot, kg/s: `w·h³·(p₁² − p₂²)/(24·μ·R·T·L)`, sizes in m.
///
/// Laminar flow between plates at the plates' temperature: the slit formula `Q = w·h³·Δp/(12·μ·L)` in every short
/// piece, with the density that the pressure there gives, summed along the slot. Nothing flows inwards.
pub fn slot_kg_s(
    (width_m, depth_m, length_m): (f64, f64, f64),
    inside_pa: f64,
    outside_pa: f64,
    temperature_k: f64,
) -> f64 {
    let squares = (inside_pa * inside_pa - outside_pa * outside_pa).max(0.0);
    let resists = 24.0 * viscosity_pa_s(temperature_k) * GAS_J_KG_K * temperature_k * length_m;
    width_m * depth_m.powi(3) * squares / resists
}

/// Temperature, K, of air that is squeezed from one pressure to another without losing heat.
pub fn squeezed_k(temperature_k: f64, from_pa: f64, to_pa: f64) -> f64 {
    temperature_k * (to_pa / from_pa).powf((KAPPA - 1.0) / KAPPA)
}

/// A way out of the channel for air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Way {
    /// Width, m.
    pub width_m: f64,
    /// Depth, m.
    pub depth_m: f64,
    /// Length over which it is that shallow, m.
    pub length_m: f64,
}

impl Way {
    /// Mass flow from a pressure inside to the room, kg/s: the smaller of what friction along the slot lets
    /// through and what its area does.
    pub fn flow_kg_s(&self, inside_pa: f64, temperature_k: f64) -> f64 {
        self.by_friction_kg_s(inside_pa, temperature_k).min(self.by_area_kg_s(inside_pa, temperature_k))
    }

    /// What friction along the slot lets through, kg/s.
    pub fn by_friction_kg_s(&self, inside_pa: f64, temperature_k: f64) -> f64 {
        slot_kg_s((self.width_m, self.depth_m, self.length_m), inside_pa, ROOM_PA, temperature_k)
    }

    /// What its area lets through, kg/s.
    pub fn by_area_kg_s(&self, inside_pa: f64, temperature_k: f64) -> f64 {
        self.width_m * self.depth_m * orifice_kg_s_m2(inside_pa, ROOM_PA, temperature_k)
    }
}

/// The highest pressure that is looked for, Pa: beyond, nothing gets out in time.
const HIGHEST_PA: f64 = 1e9;

/// The pressure, Pa, at which as much air leaves by `ways` as melt drives before it, `rate_m3_s`; `None` if none
/// does: without a way out, or where even choked flow is too little.
pub fn pressure_pa(ways: &[Way], rate_m3_s: f64, temperature_k: f64) -> Option<f64> {
    let too_little = |inside_pa: f64| {
        let leaves: f64 = ways.iter().map(|way| way.flow_kg_s(inside_pa, temperature_k)).sum();
        leaves < inside_pa * rate_m3_s / (GAS_J_KG_K * temperature_k)
    };
    if too_little(HIGHEST_PA) {
        return None;
    }
    // Halved on the logarithm: flow a pressure grows with the pressure.
    let (mut low, mut high) = (ROOM_PA.ln(), HIGHEST_PA.ln());
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if too_little(middle.exp()) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high.exp())
}
