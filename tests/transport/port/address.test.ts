import { expect, test } from 'vitest'
import { readAddress } from '../../../src/transport/port/address.ts'
import { OPENERS } from '../../../src/transport/port/openers.ts'

test.each([
  ['tcp://192.168.1.40:5025', { kind: 'tcp', host: '192.168.1.40', port: 5025 }],
  ['tcp://192.168.1.40', { kind: 'tcp', host: '192.168.1.40', port: 5025 }],
  ['tcp://counter.shop.example:9221/', { kind: 'tcp', host: 'counter.shop.example', port: 9221 }],
  ['tcp://[::1]:5025', { kind: 'tcp', host: '::1', port: 5025 }],
  [' memory:power-2 ', { kind: 'memory', name: 'power-2' }],
  [
    'serial:/dev/ttyUSB0',
    { kind: 'serial', path: '/dev/ttyUSB0', baud: 9600, dataBits: 8, parity: 'none', stopBits: 1 },
  ],
  [
    'serial:/dev/ttyUSB0?baud=4800&format=7E1',
    { kind: 'serial', path: '/dev/ttyUSB0', baud: 4800, dataBits: 7, parity: 'even', stopBits: 1 },
  ],
  ['serial:COM12?format=8o2', { kind: 'serial', path: 'COM12', baud: 9600, dataBits: 8, parity: 'odd', stopBits: 2 }],
])('reads %s', (text, address) => {
  expect(readAddress(text).address).toEqual(address)
})

test.each([
  ['192.168.1.40:5025', 'it does not say how to get there'],
  ['usb://5025', '"usb:" is not a way to an instrument'],
  ['tcp:192.168.1.40', 'the host, and after a colon the port number, are not readable'],
  ['tcp://host:70000', 'port 70000 does not exist: ports go from 1 to 65535'],
  ['tcp://host:0', 'port 0 does not exist: ports go from 1 to 65535'],
  ['tcp://my host:5025', 'it holds a blank'],
  ['serial:', 'the name of the port is missing'],
  ['serial:/dev/ttyS0?speed=9600', '"speed" is not known here: only baud and format are'],
  ['serial:/dev/ttyS0?baud=96k', 'baud is not a whole number of bits per second'],
  ['serial:/dev/ttyS0?format=9N1', 'format 9N1 is not data bits 7 or 8, parity N, E or O, stop bits 1 or 2, like 7E1'],
  ['serial:/dev/ttyS0?baud=9600?format=8N1', 'it holds more than one "?"'],
  ['memory:', 'memory: is followed by a name of letters, digits, "-", "_" and "."'],
])('refuses %s in words', (text, words) => {
  expect(() => readAddress(text)).toThrow(
    expect.objectContaining({
      message: `address "${text}": ${words}. Write tcp://HOST:PORT or serial:PATH?baud=9600 [TRANSPORT_ADDRESS]`,
    }),
  )
})

test.each([
  [
    'tcp://counter.shop.example:9221/',
    { name: 'tcp', pauses: 'onNetwork', alone: false, beats: true, turnsAway: true },
  ],
  ['serial:COM12?format=8o2', { name: 'serial', pauses: 'onSerial', alone: true, beats: false, turnsAway: false }],
  ['memory:power', { name: 'memory', pauses: 'onNetwork', alone: false, beats: true, turnsAway: false }],
])('says what kind of link %s is', (text, kind) => {
  expect(readAddress(text).kind).toEqual(kind)
})

test('a kind is named as its addresses begin', () => {
  const examples = ['tcp://h', 'serial:COM1', 'memory:m'].map(readAddress)
  expect(examples.map(({ kind }) => kind.name)).toEqual(Object.keys(OPENERS))
})

test.each([
  ['tcp://192.168.1.40:5025', true],
  ['memory:power', true],
  ['serial:/dev/ttyS0', true],
  ['serial:/dev/serial/by-id/usb-adapter?baud=4800', true],
  ['serial:/dev/ttyUSB0', false],
  ['serial:/dev/ttyACM1?baud=4800', false],
  ['serial:/dev/cu.adapter', false],
  ['serial:/dev/tty.adapter', false],
  ['serial:com3', false],
])('whoever was at %s is there next time too: %s', (text, stays) => {
  expect(readAddress(text).stays).toBe(stays)
})

test('one way has one place, however it is written', () => {
  const placeOf = (text: string) => readAddress(text).place()
  expect(placeOf('tcp://Supply.Shop.example')).toBe(placeOf('tcp://supply.shop.example:5025/'))
  expect(placeOf('serial:/dev/ttyNOBODY9')).toBe(placeOf('serial:/dev/ttyNOBODY9?baud=4800'))
  expect(new Set(['tcp://h:1', 'tcp://h:2', 'serial:h', 'memory:h'].map(placeOf)).size).toBe(4)
})
