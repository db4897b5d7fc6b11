import { expect, test } from 'vitest'
import { channelHz } from '../../mocks/plant/channels.ts'
import { amDepths, fmPeaksHz } from '../../mocks/plant/modulation.ts'
import { HEALTHY } from '../../mocks/plant/parameters.ts'
import { withFaults } from '../../mocks/plant/radio-faults.ts'
import {
  audioOutput,
  noiseFigureDb,
  sensitivityDbm,
  signalMeter,
  sinadDb,
  squelchOpen,
  voltsOfDbm,
} from '../../mocks/plant/receiver.ts'
import { crystalCelsius, referencePpm } from '../../mocks/plant/reference-oscillator.ts'
import { controlVolts, isLocked } from '../../mocks/plant/synthesiser.ts'
import { presetWatts, transmitPoint, unlimitedWatts } from '../../mocks/plant/transmitter.ts'
import plant from '../reference/plant.json'

const NO_LEAD = { ...HEALTHY, leadOhm: 0 }
const TUNED = { driverTurns: 0, outputTurns: 0 }
const CH20_HZ = 27.205e6
const db = (a: number, b: number) => 10 * Math.log10(a / b)

test.each([
  ['receive', '1'],
  ['receive', '20'],
  ['receive', '40'],
  ['transmit', '1'],
  ['transmit', '20'],
  ['transmit', '40'],
] as const)('control voltage in %s on channel %s is the noted one within 5 mV', (way, channel) => {
  const volts = controlVolts(HEALTHY, channelHz('cept', Number(channel)), way === 'transmit', 0)
  expect(Math.abs(volts - plant.selfTest.controlVolts[way][channel])).toBeLessThanOrEqual(0.0051)
})

test.each(plant.controlVoltsBySlug.turns.map((turns, row) => [turns, row]))(
  'VK at %f turns gives the noted volts within 5 mV',
  (turns, row) => {
    const { receive, transmit } = plant.controlVoltsBySlug
    expect(Math.abs(controlVolts(HEALTHY, CH20_HZ, false, turns) - (receive[row] ?? 0))).toBeLessThanOrEqual(0.0051)
    expect(Math.abs(controlVolts(HEALTHY, CH20_HZ, true, turns) - (transmit[row] ?? 0))).toBeLessThanOrEqual(0.0051)
  },
)

test('15 K more raise the control voltage by 41 mV', () => {
  const rise = controlVolts(HEALTHY, CH20_HZ, false, 0, 15) - controlVolts(HEALTHY, CH20_HZ, false, 0, 0)
  expect(rise).toBeCloseTo(plant.controlVoltsBySlug.perFifteenKelvinVolts, 3)
})

test('the reference trimmer pulls +965 to -968 Hz about its middle, 17.2 Hz a degree, and turns back after half a turn', () => {
  const hz = (turns: number) => referencePpm(HEALTHY, turns, 25) * 27.205
  const [high, low] = plant.reference.rangeHz
  expect(Math.abs(hz(0) - (high ?? 0))).toBeLessThan(1)
  expect(Math.abs(hz(0.5) - (low ?? 0))).toBeLessThan(1)
  let zero = 0.1
  while (hz(zero) > 0) zero += 1e-5
  const slope = (hz(zero + 0.5 / 360) - hz(zero - 0.5 / 360)) / 1
  expect(slope).toBeCloseTo(plant.reference.centreHzPerDegree, 0)
  expect(hz(1 - zero)).toBeCloseTo(hz(zero), 6)
})

test('warm-up from cold at 23 deg C follows the noted hertz within 1 Hz', () => {
  const hz = (minutes: number) => referencePpm(HEALTHY, 0.2096, crystalCelsius(HEALTHY, 23, minutes * 60, 0)) * 27.205
  const end = hz(1e6)
  const noted = plant.reference.warmUpHz
  const seen = Object.fromEntries(Object.keys(noted).map((minutes) => [minutes, hz(Number(minutes)) - end]))
  for (const [minutes, value] of Object.entries(noted)) expect(Math.abs((seen[minutes] ?? 99) - value)).toBeLessThan(1)
  const keyed = referencePpm(HEALTHY, 0.2096, crystalCelsius(HEALTHY, 23, 1e9, 1e9)) * 27.205
  expect(keyed - end).toBeCloseTo(plant.reference.continuousTransmitHz, -0.5)
})

test('RT as it arrives is 411 Hz high warm and 490 Hz high cold', () => {
  const hz = (celsius: number) => referencePpm(HEALTHY, plant.reference.arrivesTurn, celsius) * 27.205
  expect(Math.abs(hz(35) - plant.reference.arrivesHz.warm)).toBeLessThan(1)
  expect(Math.abs(hz(23) - plant.reference.arrivesHz.cold)).toBeLessThan(1)
})

test.each(plant.selfTest.benchTransmit)(
  'at $volts V and preset $preset the stage gives $watts W',
  ({ volts, preset, watts, amps }) => {
    const point = transmitPoint(NO_LEAD, volts, TUNED, presetWatts(NO_LEAD, preset))
    expect(Math.abs(point.watts - watts)).toBeLessThanOrEqual(0.0055)
    if (amps !== undefined) expect(Math.abs(point.amps - amps)).toBeLessThanOrEqual(0.0055)
  },
)

test.each(plant.power.rows.map((row) => [row]))(
  'power table row %j',
  ([volts = 0, open = 0, set = 0, amps = 0, heat = 0]) => {
    const wide = transmitPoint(NO_LEAD, volts, TUNED, presetWatts(NO_LEAD, 1))
    const limited = transmitPoint(NO_LEAD, volts, TUNED, presetWatts(NO_LEAD, 0.478))
    expect(Math.abs(wide.watts - open)).toBeLessThanOrEqual(0.0055)
    expect(Math.abs(limited.watts - set)).toBeLessThanOrEqual(0.0055)
    expect(Math.abs(limited.amps - amps)).toBeLessThanOrEqual(0.0055)
    expect(Math.abs(limited.heatWatts - heat)).toBeLessThanOrEqual(0.055)
  },
)

test.each(plant.powerAsLeft.rows.map(([volts, watts, amps]) => ({ volts, watts, amps })))(
  'as left, $volts V gives $watts W',
  ({ volts, watts, amps }) => {
    const point = transmitPoint(NO_LEAD, volts ?? 0, TUNED, presetWatts(NO_LEAD, plant.powerAsLeft.preset))
    expect(Math.abs(point.watts - (watts ?? 0))).toBeLessThanOrEqual(0.0055)
    if (amps) expect(Math.abs(point.amps - amps)).toBeLessThanOrEqual(0.0055)
  },
)

test('as it arrives the set gives 2.43 W and 1.07 A at 13.8 V', () => {
  const { volts, DK, OK, preset, watts, amps } = plant.asFoundWatts
  const point = transmitPoint(NO_LEAD, volts, { driverTurns: DK, outputTurns: OK }, presetWatts(NO_LEAD, preset))
  expect(Math.abs(point.watts - watts)).toBeLessThanOrEqual(0.0055)
  expect(Math.abs(point.amps - amps)).toBeLessThanOrEqual(0.0055)
})

test.each(
  plant.peakWidth.downDb.map((down, row) => ({
    down,
    DK: plant.peakWidth.DK[row] ?? 0,
    OK: plant.peakWidth.OK[row] ?? 0,
  })),
)('the open stage is $down dB down at DK ±$DK and OK ±$OK turns', ({ down, DK, OK }) => {
  const top = unlimitedWatts(HEALTHY, 15.6, TUNED)
  const drop = (driverTurns: number, outputTurns: number) =>
    db(top, unlimitedWatts(HEALTHY, 15.6, { driverTurns, outputTurns }))
  expect(drop(DK - 0.0051, 0)).toBeLessThanOrEqual(down)
  expect(drop(DK + 0.0051, 0)).toBeGreaterThanOrEqual(down)
  expect(drop(0, OK - 0.0051)).toBeLessThanOrEqual(down)
  expect(drop(0, -(OK + 0.0051))).toBeGreaterThanOrEqual(down)
})

test('with the preset at 4 W the top is flat to 0.01 dB over a third of a turn of DK and half a turn of OK', () => {
  const { preset, DK, OK, withinDb } = plant.flatTop
  const watts = (driverTurns: number, outputTurns: number) =>
    transmitPoint(NO_LEAD, 15.6, { driverTurns, outputTurns }, presetWatts(NO_LEAD, preset)).watts
  expect(db(watts(0, 0), watts(DK, 0))).toBeLessThan(withinDb * 1.1)
  expect(db(watts(0, 0), watts(0, OK))).toBeLessThan(withinDb * 1.1)
  expect(db(watts(0, 0), watts(2 * DK, 0))).toBeGreaterThan(10 * withinDb)
})

test('deviation is 1.12/1.08 kHz at 3 mV and 1.78/1.71 kHz from 10 mV up, 2.25/2.16 kHz as it arrives', () => {
  const m = plant.modulation
  const rounded = (volts: number, preset: number) => {
    const peaks = fmPeaksHz(HEALTHY, volts, preset)
    return [Math.round(peaks.up / 10) * 10, Math.round(peaks.down / 10) * 10]
  }
  expect(rounded(3e-3, m.preset)).toEqual(m.at3mVHz)
  expect(rounded(10e-3, m.preset)).toEqual(m.from10mVHz)
  expect(rounded(30e-3, m.preset)).toEqual(m.from10mVHz)
  expect(rounded(30e-3, m.asFoundPreset)).toEqual(m.asFoundHz)
})

test('AM is 85 % deep both ways at 1 W; at 4 W there is no room upward at 13.8 V', () => {
  const m = plant.modulation
  const at = (carrier: number, available: number, volts = 30e-3) =>
    amDepths(HEALTHY, volts, m.amPreset, carrier, available)
  expect(at(1, 3.82).up).toBeCloseTo(m.amDepth, 2)
  expect(at(1, 3.82).down).toBeCloseTo(m.amDepth, 2)
  expect(amDepths(HEALTHY, 1, 1, 1, 3.82).up).toBeCloseTo(m.amRoom.at1WattCarrier13V8, 2)
  expect(at(4, 3.82).up).toBe(0)
  expect(at(4, 5.53).up).toBeCloseTo(m.amRoom.at4WattCarrier15V6, 2)
})

test('the receiver needs 0.243 uV for 12 dB SINAD, ends at 32 dB, and its noise figure is 8.5 dB', () => {
  expect(1e6 * voltsOfDbm(sensitivityDbm(HEALTHY))).toBeCloseTo(plant.selfTest.sensitivityMicrovolts, 3)
  expect(sinadDb(HEALTHY, -47)).toBeCloseTo(plant.selfTest.sinadAtMinus47Dbm, 1)
  expect(noiseFigureDb(HEALTHY)).toBeCloseTo(8.5, 1)
})

test.each(plant.sinad.microvolts.map((uv, row) => [uv, plant.sinad.db[row] ?? 0]))(
  'at %f uV SINAD is %f dB',
  (uv, expected) => {
    const dbm = 20 * Math.log10((uv * 1e-6) / voltsOfDbm(0))
    expect(Math.abs(sinadDb(HEALTHY, dbm) - expected)).toBeLessThan(Number.isInteger(expected) ? 0.65 : 0.1)
  },
)

test.each(
  plant.sensitivityBySlug.turns.map((turns, row) => ({ turns, uv: plant.sensitivityBySlug.microvolts[row] ?? 0 })),
)('AK and BK off by $turns need $uv uV', ({ turns, uv }) => {
  const dbm = sensitivityDbm(HEALTHY, { aerialTurns: turns[0] ?? 0, interstageTurns: turns[1] ?? 0 })
  expect(Math.abs(1e6 * voltsOfDbm(dbm) - uv)).toBeLessThan(0.0055)
})

test('audio is 2.02 W at knob 0.88 and 3.2 W with 16 % at the end', () => {
  expect(audioOutput(HEALTHY, 13.8, 0.88).watts).toBeCloseTo(plant.selfTest.audioWattsAtKnob088, 2)
  expect(audioOutput(HEALTHY, 13.8, 1).watts).toBeCloseTo(plant.audio.fullWatts, 1)
  expect(audioOutput(HEALTHY, 13.8, 1).distortion).toBeCloseTo(plant.audio.fullDistortion, 2)
})

test('the squelch at its maximum opens at -57.4 dBm and closes 3 dB lower', () => {
  const noiseDbm = -174 + 10 * Math.log10(HEALTHY.bandwidthHz) + noiseFigureDb(HEALTHY)
  const ratioDb = plant.squelch.knobMaximumOpensDbm - noiseDbm
  expect(squelchOpen(HEALTHY, false, ratioDb + 0.1, 1)).toBe(true)
  expect(squelchOpen(HEALTHY, false, ratioDb - 0.1, 1)).toBe(false)
  expect(squelchOpen(HEALTHY, true, ratioDb - 2.8, 1)).toBe(true)
  expect(squelchOpen(HEALTHY, true, ratioDb - 3.2, 1)).toBe(false)
})

test('the signal meter reads 9 at -67 dBm and about 8 with AK and BK 0.4 turn off', () => {
  expect(signalMeter(HEALTHY, -67)).toBe(9)
  expect(signalMeter(HEALTHY, -67, { aerialTurns: 0.4, interstageTurns: 0.4 })).toBeCloseTo(8.06, 1)
})

test('each transmit fault shows what the notes say it shows', () => {
  const rows = plant.radioFaults.rows
  const tx = (fault: Parameters<typeof withFaults>[0], volts: number, preset: number, leadOhm?: number) => {
    const radio = withFaults(fault)
    return transmitPoint({ ...radio, leadOhm: leadOhm ?? radio.leadOhm }, volts, TUNED, presetWatts(radio, preset))
  }
  const weak = rows['weak exciter']
  expect(tx(['weak exciter'], 15.6, 1, 0).watts).toBeCloseTo(weak.open15V6, 1)
  expect(tx(['weak exciter'], 15.6, 0.478, 0).watts).toBeCloseTo(weak.set15V6, 1)
  expect(tx(['weak exciter'], 13.8, 0.478, 0).watts).toBeCloseTo(weak.set13V8, 1)
  expect(tx(['weak exciter'], 13.8, 0.478, 0).amps).toBeCloseTo(weak.amps13V8, 2)
  expect(tx(['corroded plug'], 13.8, 0.478).plugVolts).toBeCloseTo(rows['corroded plug'].plugVolts13V8, 2)
  expect(tx(['corroded plug'], 13.8, 0.478).watts).toBeCloseTo(rows['corroded plug'].watts13V8, 1)
  expect(tx(['open power loop'], 15.6, 0.478, 0).watts).toBeCloseTo(rows['open power loop'].set15V6, 1)
  expect(tx(['open power loop'], 13.8, 0.1, 0).watts).toBeCloseTo(rows['open power loop'].set13V8, 2)
  expect(tx(['change-over loss'], 15.6, 0.478, 0).watts).toBeCloseTo(rows['change-over loss'].set15V6, 1)
  expect(tx(['change-over loss'], 13.8, 0.478, 0).watts).toBeCloseTo(rows['change-over loss'].set13V8, 1)
  expect(tx(['change-over loss'], 13.8, 0.478, 0).amps).toBeCloseTo(rows['change-over loss'].amps13V8, 2)
})

test('the modulation and synthesiser faults show what the notes say they show', () => {
  const rows = plant.radioFaults.rows
  const up = (millivolts: number) => fmPeaksHz(withFaults(['limiter defeated']), millivolts / 1e3, 0.46).up
  expect(up(5)).toBeCloseTo(rows['limiter defeated'].at5mVHz, -2)
  expect(up(10)).toBeCloseTo(rows['limiter defeated'].at10mVHz, -2)
  expect(up(30)).toBeCloseTo(rows['limiter defeated'].at30mVHz, -2)
  expect(fmPeaksHz(withFaults(['one-sided limiter']), 10e-3, 0.46).down).toBeCloseTo(
    rows['one-sided limiter'].from10mVHz[1] ?? 0,
    -1,
  )
  const open = withFaults(['transmit band switch'])
  expect(controlVolts(open, CH20_HZ, true, 0)).toBe(rows['transmit band switch'].transmitVolts)
  expect(isLocked(open, controlVolts(open, CH20_HZ, true, 0))).toBe(false)
  const cracked = withFaults(['cracked VCO core'])
  expect(controlVolts(cracked, CH20_HZ, false, 0)).toBeCloseTo(rows['cracked VCO core'].volts, 2)
  expect(controlVolts(cracked, CH20_HZ, false, -1)).toBeCloseTo(rows['cracked VCO core'].twoTurns[0] ?? 0, 1)
  expect(controlVolts(cracked, CH20_HZ, false, 1)).toBeCloseTo(rows['cracked VCO core'].twoTurns[1] ?? 0, 1)
  const aged = (turns: number) => referencePpm(withFaults(['aged crystal']), turns, 35) * 27.205
  expect(Math.abs(aged(0) - (rows['aged crystal'].rangeHz[0] ?? 0))).toBeLessThan(5)
  expect(Math.abs(aged(0.5) - (rows['aged crystal'].rangeHz[1] ?? 0))).toBeLessThan(5)
})

const close = (value: number, expected: number | undefined) =>
  expect(value / (expected ?? Number.NaN)).toBeCloseTo(1, 9)
const listing = plant.listing

test.each(listing.vtune)(
  'listing: channel %i, transmit %i, %f turns, %f K',
  (channel, transmit, turns, rise, volts) => {
    close(controlVolts(HEALTHY, channelHz('cept', channel ?? 0), transmit === 1, turns ?? 0, rise), volts)
  },
)

test.each(listing.bench_tx)(
  'listing: %f V, DK %f, OK %f, preset %f, %f Hz, %f K',
  (volts = 0, driverTurns = 0, outputTurns = 0, preset = 0, hz = 0, heat = 0, plug = 0, watts = 0, amps = 0, heatWatts = 0) => {
    const point = transmitPoint(HEALTHY, volts, { driverTurns, outputTurns }, presetWatts(HEALTHY, preset), hz, heat)
    close(point.plugVolts, plug)
    close(point.watts, watts)
    close(point.amps, amps)
    close(point.heatWatts, heatWatts)
  },
)

test('listing: reference, crystal temperature, deviation, depth, SINAD, signal meter and audio agree at arbitrary arguments', () => {
  for (const [turns = 0, celsius = 0, ppm] of listing.ref_ppm) close(referencePpm(HEALTHY, turns, celsius), ppm)
  for (const [ambient = 0, on = 0, keyed = 0, celsius] of listing.xtal_T)
    close(crystalCelsius(HEALTHY, ambient, on, keyed), celsius)
  for (const [mv = 0, preset = 0, up, down] of listing.dev) {
    close(fmPeaksHz(HEALTHY, mv / 1e3, preset).up / 1e3, up)
    close(fmPeaksHz(HEALTHY, mv / 1e3, preset).down / 1e3, down)
  }
  for (const [mv = 0, preset = 0, carrier = 0, peak = 0, up, down] of listing.am) {
    close(1 + amDepths(HEALTHY, mv / 1e3, preset, carrier, peak).up, 1 + Math.max(up ?? 0, 0))
    close(1 + amDepths(HEALTHY, mv / 1e3, preset, carrier, peak).down, 1 + (down ?? 0))
  }
  for (const [dbm = 0, aerialTurns = 0, interstageTurns = 0, offset = 0, sinad] of listing.sinad)
    close(sinadDb(HEALTHY, dbm, { aerialTurns, interstageTurns }, offset), sinad)
  for (const [dbm = 0, aerialTurns = 0, interstageTurns = 0, ifTurns = 0, units] of listing.smeter)
    close(1 + signalMeter(HEALTHY, dbm, { aerialTurns, interstageTurns }, ifTurns), 1 + (units ?? 0))
  for (const [volts = 0, knob = 0, watts, distortion] of listing.audio) {
    close(audioOutput(HEALTHY, volts, knob).watts, watts)
    close(audioOutput(HEALTHY, volts, knob).distortion, distortion)
  }
})
