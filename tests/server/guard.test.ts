import { expect, test } from 'vitest'
import { allowedHosts, hostRefusal, upgradeRefusal } from '../../src/server/guard.ts'

const hosts = allowedHosts(8137, ['Bench-PC'])
const doors = { hosts, token: 'tOkEn-1_2' }
const ours = {
  host: '127.0.0.1:8137',
  origin: 'http://127.0.0.1:8137',
  path: '/live',
  protocols: 'trimwright.tOkEn-1_2',
}
const names = '127.0.0.1:8137, localhost:8137, [::1]:8137, bench-pc:8137'

test('answers to this machine by its three names and the ones it was told, with the port', () => {
  expect(hosts).toEqual(['127.0.0.1:8137', 'localhost:8137', '[::1]:8137', 'bench-pc:8137'])
})

test('answers without a port as well when that is 80, because browsers leave it out', () => {
  expect(allowedHosts(80, [])).toEqual(['127.0.0.1', '127.0.0.1:80', 'localhost', 'localhost:80', '[::1]', '[::1]:80'])
})

test.each(['127.0.0.1:8137', 'localhost:8137', 'LocalHost:8137', '[::1]:8137', 'bench-pc:8137'])(
  'lets the host name %s in',
  (host) => expect(hostRefusal(host, hosts)).toBeNull(),
)

test.each([
  ['evil.example:8137', `the host name evil.example:8137 was asked for; only ${names} are answered`],
  ['127.0.0.1', `the host name 127.0.0.1 was asked for; only ${names} are answered`],
  ['127.0.0.1:8138', `the host name 127.0.0.1:8138 was asked for; only ${names} are answered`],
  [
    'localhost:8137.evil.example',
    `the host name localhost:8137.evil.example was asked for; only ${names} are answered`,
  ],
  ['', `the host name "" was asked for; only ${names} are answered`],
  [undefined, 'no host name was asked for'],
])('turns the host name %s away in words', (host, words) => expect(hostRefusal(host, hosts)).toBe(words))

test('does not write control characters or long names of strangers into its words', () => {
  const words = hostRefusal(`a\u001b[2J\n${'x'.repeat(500)}`, hosts) ?? ''
  expect(words).toContain('the host name a\\u001b[2J\\nxxx')
  expect(words.length).toBeLessThan(250)
})

test.each([
  ['our own page', {}],
  ['our page under another of our names', { host: 'localhost:8137', origin: 'http://localhost:8137' }],
  ['a page that offers several sub-protocols', { protocols: 'other, trimwright.tOkEn-1_2' }],
])('lets %s have the live socket', (_, changes) => expect(upgradeRefusal({ ...ours, ...changes }, doors)).toBeNull())

const foreign = (origin: string) => `it comes from the page ${origin}, not from ours`
const noToken = 'it does not have the token of this start, so the page is from an earlier one or not ours'
test.each([
  ['a foreign host', { host: 'evil.example' }, `the host name evil.example was asked for; only ${names} are answered`],
  ['no host', { host: undefined }, 'no host name was asked for'],
  ['a foreign page', { origin: 'https://evil.example' }, foreign('https://evil.example')],
  ['a page of another port', { origin: 'http://127.0.0.1:9000' }, foreign('http://127.0.0.1:9000')],
  ['a page over https', { origin: 'https://127.0.0.1:8137' }, foreign('https://127.0.0.1:8137')],
  [
    'a longer name that begins like ours',
    { origin: 'http://localhost:8137.evil.example' },
    foreign('http://localhost:8137.evil.example'),
  ],
  [
    'two origins',
    { origin: 'http://localhost:8137, http://localhost:8137' },
    foreign('http://localhost:8137, http://localhost:8137'),
  ],
  ['a page without an origin of its own', { origin: 'null' }, foreign('null')],
  ['a file', { origin: 'file://' }, foreign('file://')],
  ['no origin', { origin: undefined }, 'it does not say which page it comes from'],
  ['another path', { path: '/' }, 'there is no live socket at /, only at /live'],
  ['a path with more behind it', { path: '/live?x=1' }, 'there is no live socket at /live?x=1, only at /live'],
  ['no token', { protocols: undefined }, noToken],
  ['a wrong token', { protocols: 'trimwright.tOkEn-1_3' }, noToken],
  ['a token in other capitals', { protocols: 'trimwright.token-1_2' }, noToken],
  ['a part of the token', { protocols: 'trimwright.tOkEn' }, noToken],
  ['the bare token', { protocols: 'tOkEn-1_2' }, noToken],
])('refuses the live socket to %s, in words', (_, changes, words) =>
  expect(upgradeRefusal({ ...ours, ...changes }, doors)).toBe(words),
)
