import type { Page } from 'playwright-core'

/** A picture as numbers: red, green, blue and opacity, 0 to 255, row by row from the top. */
export interface Pixels {
  readonly width: number
  readonly height: number
  readonly data: Uint8Array
}

/** Reads a PNG with the browser's own decoder; `table` is any page. */
export async function pixelsOf(table: Page, png: Buffer): Promise<Pixels> {
  const { width, height, bytes } = await table.evaluate(async (base64) => {
    const image = new Image()
    image.src = `data:image/png;base64,${base64}`
    await image.decode()
    const canvas = document.createElement('canvas')
    canvas.width = image.width
    canvas.height = image.height
    const context = canvas.getContext('2d')
    if (!context) throw new Error('no canvas')
    context.drawImage(image, 0, 0)
    const { width, height, data } = context.getImageData(0, 0, image.width, image.height)
    // base64 again: a list of numbers takes ten times as long on its way out
    let text = ''
    for (let at = 0; at < data.length; at += 8192) text += String.fromCharCode(...data.subarray(at, at + 8192))
    return { width, height, bytes: btoa(text) }
  }, png.toString('base64'))
  return { width, height, data: Buffer.from(bytes, 'base64') }
}
