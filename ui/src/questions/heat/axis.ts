// Temperatures as the plots show them.

import { four, type Axis } from "../../plot/plot";

export const ZERO_C = 273.15;
export const TEMPERATURE: Axis = { label: "temperature", unit: "°C", per: 1, zero: ZERO_C };
export const celsius = (k: number) => `${four(k - ZERO_C)} °C`;
